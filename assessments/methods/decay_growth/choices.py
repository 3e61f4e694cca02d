"""The tables behind the two regimes: how genera rot and wall off, log-odds of breaching, rates of growth and spread."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from assessments.methods import tables

METHOD: Final = "decay_choices"
VERSION: Final = 1

WALLINGS: Final = ("strong", "moderate", "weak")
ROTS: Final = ("white", "brown", "soft", "unknown")


@dataclass(frozen=True)
class Fungus:
    """A genus: its rot, where it usually sits (root_butt or stem), whether it is known to pass barrier zones."""

    genus: str
    rot: str
    seat: str
    breaches: bool


@dataclass(frozen=True)
class Rate:
    """A log-normal rate in cm a year: median, and standard deviation of its natural logarithm."""

    median: float
    spread: float


FUNGI: Final[Mapping[str, Fungus]] = {
    row["genus"].lower(): Fungus(row["genus"], row["rot"], row["seat"], row["breaches"] == "yes")
    for row in tables.read("decay_fungi")
}
_WALLING: Final = {row["name"]: row["walling"] for row in tables.read("decay_walling")}
_ODDS: Final = {(row["input"], row["word"]): float(row["log_odds"]) for row in tables.read("decay_regime")}
_RATES: Final = {
    (row["kind"], row["word"]): Rate(float(row["median"]), float(row["spread"])) for row in tables.read("decay_rates")
}


def walling_of(species: str) -> str | None:
    """Give how well a species walls off decay, by its own row or that of its genus; None where neither is listed.

    >>> walling_of("Acer saccharinum"), walling_of("Acer rubrum"), walling_of("Ginkgo biloba")
    ('weak', 'strong', None)
    """
    name = " ".join(species.lower().split()[:2])
    return _WALLING.get(name) or _WALLING.get(name.split(" ")[0] if name else "")


def odds(name: str, word: str) -> float:
    """Give the log-odds that a word adds. Raises KeyError for an unknown one."""
    return _ODDS[name, word]


def rate(kind: str, word: str) -> Rate:
    """Give a rate. Raises KeyError for an unknown one."""
    return _RATES[kind, word]


def chance(log_odds: float) -> float:
    """Give the probability of log-odds.

    >>> chance(0.0)
    0.5
    """
    return 1 / (1 + math.exp(-log_odds))
