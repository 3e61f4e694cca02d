"""Failures a tree-year by likelihood category, with intervals that take storms, not trees, as what varies.

Until there are 50 failures in 5 storms or more, nothing finer than the category is reported. Blocks of the bootstrap:
each storm, and the calm of each calendar year; where few failed, the exact Poisson interval is kept if it is wider.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from assessments.methods.risk import FAILURE
from assessments.methods.section.integrals import Floats

from .at_risk import Spell
from .storms import Storm, StormModel, StormRow, exposures, storm_model

METHOD: Final = "failures_by_category_storm_bootstrap"
VERSION: Final = 1

LEAST_FAILURES: Final = 50
LEAST_STORMS: Final = 5
RESAMPLES: Final = 2000
SEED: Final = 50505
_LOGS: Final = np.linspace(-25.0, 12.0, 37_001)
NOTES: Final = (
    "Time counts from a rating to the first treatment, removal, change of target or new rating.",
    "Storms vary far more than trees do: few storms tell little, however many trees stood in them.",
)


@dataclass(frozen=True)
class Rate:
    """Failures a tree-year of one category, with the 95 % interval."""

    category: str
    trees: int
    tree_years: float
    failures: int
    storms: int  # storms with a failure of this category
    rate: float | None
    low95: float | None
    high95: float | None


@dataclass(frozen=True)
class Outcomes:
    """What became of the rated trees. `model` is there once there are enough failures and storms."""

    rates: tuple[Rate, ...]
    failures: int
    storms_with_failures: int
    storms: tuple[StormRow, ...]
    model: StormModel | None
    notes: tuple[str, ...]


def report(spells: Sequence[Spell], storms: Sequence[Storm], until: date) -> Outcomes:
    """Report outcomes up to a day; storms without any failure belong in as well.

    >>> report([], [], date(2026, 1, 1)).failures
    0
    """
    failed = [spell for spell in spells if spell.ended_by == "failure"]
    with_failures = len({spell.storm for spell in failed if spell.storm})
    happened = [storm for storm in storms if storm.day <= until]
    rows = exposures(spells, happened)
    ready = len(failed) >= LEAST_FAILURES and with_failures >= LEAST_STORMS
    waiting = () if ready else (_waiting(len(failed), with_failures),)
    return Outcomes(
        tuple(_rates(spells, failed, happened)),
        len(failed),
        with_failures,
        rows,
        storm_model(rows) if ready else None,
        (*waiting, *NOTES),
    )


def _waiting(failures: int, storms: int) -> str:
    return (
        f"By category only: {failures} failures in {storms} storms; a model of storms and gusts needs"
        f" {LEAST_FAILURES} failures in {LEAST_STORMS}."
    )


def _rates(spells: Sequence[Spell], failed: Sequence[Spell], storms: Sequence[Storm]) -> list[Rate]:
    rng = np.random.default_rng(SEED)
    years = {spell.start.year for spell in spells} | {spell.end.year for spell in spells}
    calm = range(min(years), max(years) + 1) if years else range(0)
    names = [*dict.fromkeys([storm.uid for storm in storms] + [s.storm for s in failed if s.storm])]
    picks = [_picks(rng, count) for count in (len(names), len(calm))]
    found = []
    for category in FAILURE:
        own = [spell for spell in spells if spell.category == category]
        lost = [spell for spell in failed if spell.category == category]
        in_storm = np.array([sum(s.storm == name for s in lost) for name in names], np.float64)
        in_calm = np.array([sum(not s.storm and s.end.year == year for s in lost) for year in calm], np.float64)
        drawn = picks[0] @ in_storm + picks[1] @ in_calm
        found.append(_rate(category, own, lost, drawn))
    return found


def _picks(rng: np.random.Generator, count: int) -> Floats:
    """How often each of `count` blocks is taken in each resample."""
    if not count:
        return np.zeros((RESAMPLES, 0))
    return np.asarray(rng.multinomial(count, np.full(count, 1 / count), RESAMPLES), np.float64)


def _rate(category: str, own: Sequence[Spell], lost: Sequence[Spell], drawn: Floats) -> Rate:
    years = sum(spell.years for spell in own)
    trees, hit = len({spell.tree for spell in own}), len({spell.storm for spell in lost if spell.storm})
    if years <= 0:
        return Rate(category, trees, 0.0, len(lost), hit, None, None, None)
    low, high = np.quantile(drawn, (0.025, 0.975)).tolist()
    exact_low, exact_high = poisson_interval(len(lost))
    return Rate(
        category, trees, years, len(lost), hit, len(lost) / years, min(low, exact_low) / years,
        max(high, exact_high) / years,
    )  # fmt: skip


def poisson_interval(count: int) -> tuple[float, float]:
    """Give the exact 95 % interval of a Poisson mean from one count (Garwood 1936).

    >>> [round(end, 2) for end in poisson_interval(0)], [round(end, 2) for end in poisson_interval(10)]
    ([0.0, 3.69], [4.8, 18.39])
    """
    low = 0.0 if count == 0 else _gamma_quantile(float(count), 0.025)
    return low, _gamma_quantile(count + 1.0, 0.975)


def _gamma_quantile(shape: float, level: float) -> float:
    """Quantile of a gamma distribution of unit scale, integrated over the logarithm."""
    log = shape * _LOGS - np.exp(_LOGS)
    mass = np.exp(log - log.max())
    rising = np.cumsum(mass) - mass / 2
    return float(np.exp(np.interp(level * mass.sum(), rising, _LOGS)))
