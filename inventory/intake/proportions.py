"""Which roles and units of a file's sizes fit each other and the species: stems, heights and crowns keep proportions.

The proportions are those of the Urban Tree Database (McPherson, van Doorn & Peper 2016, RDS-2016-0005; 13,805 trees,
palms left out): over all trees ln h = 0.214 + 0.615 ln d and ln c = -0.458 + 0.733 ln d (h, c in m, d in cm), and the
medians of its 17 regions lie within -0.24 to 0.18 and -0.14 to 0.09 of these. How far a city may lie from them, and how
much a written heading weighs against them, is the project's choice.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from inventory.intake.roles import SIZES
from inventory.intake.table import Floats

HEIGHT_OF, CROWN_OF = (0.214, 0.615), (-0.458, 0.733)
# A city's median from those of all trees, as logarithms: where it lies, and how far off is no surprise.
STEM_OF_LARGEST, HEIGHT_OF_MATURE, CROWN_OF_HEIGHT = (-1.6, 0.5), (-0.65, 0.35), (-0.22, 0.3)
TYPICAL = {"stem": (math.log(25.0), 0.8), "height": (math.log(9.0), 0.5), "crown": (math.log(6.0), 0.6)}
OFF = 0.22
# So many trees larger than any of their species are found in a city's file (in the Urban Tree Database 0 to 0.6 %).
LARGER, MOST = 0.02, 16.0
# What it costs to say that a written unit, an unwritten one, a heading's role is wrong; two systems in one file.
WRITTEN, UNWRITTEN, ROLE, MIXED = 6.0, 1.0, 6.0, 1.5
# By how much the fit must be better to change what is said, and to ask a person.
MARGIN, ASK = 2.0, 4.0
FEWEST = 30
# What one of a role is of its kind of size.
KINDS: dict[str, tuple[str, float]] = {
    "dbh": ("stem", 1.0), "girth": ("stem", 1 / math.pi), "radius": ("stem", 2.0), "height": ("height", 1.0),
    "crown": ("crown", 1.0), "crown_radius": ("crown", 2.0),
}  # fmt: skip
US = ("in", "ft")


@dataclass(frozen=True)
class Meaning:
    """A role and its unit."""

    role: str
    unit: str

    @property
    def factor(self) -> float:
        """What one of the column is in centimetres of diameter, metres of height or width."""
        return SIZES[self.role][self.unit] * KINDS[self.role][1]


@dataclass(frozen=True)
class Sized:
    """One column of sizes: its values (as written; NaN unknown), what it is said to be, and who says the unit."""

    heading: str
    values: Floats
    said: Meaning
    source: str = ""  # "cells", "heading", or nobody

    @property
    def kind(self) -> str:
        """Stem, height or crown."""
        return KINDS[self.said.role][0]

    def options(self) -> Iterator[tuple[Meaning, float]]:
        """What it may mean, with the cost of each against what is said."""
        roles = ("dbh", "girth") if self.said.role in ("dbh", "girth") else (self.said.role,)
        units: tuple[str, ...] = ("cm", "in", "mm") if self.kind == "stem" else ("m", "ft")
        if self.source == "cells":
            units = ()
        for role, unit in product(roles, dict.fromkeys((self.said.unit, *units))):
            changed = (unit != self.said.unit) * (WRITTEN if self.source == "heading" else UNWRITTEN)
            yield Meaning(role, unit), changed + (role != self.said.role) * ROLE


@dataclass
class Fit:
    """How well sizes agree: the sum of squared surprises, and each of them in words."""

    total: float = 0.0
    words: list[str] = field(default_factory=list)

    def add(self, off: float, spread: float, words: str) -> None:
        """One surprise: a logarithm off what is usual."""
        self.total += (off / spread) ** 2
        self.words.append(words.format(math.exp(off)))


class Proportions:
    """The middle proportions of a file's rows, from which every choice of units is judged at once."""

    def __init__(self, sizes: Sequence[Sized], largest_cm: Floats, mature_m: Floats) -> None:
        self._logs = {sized.kind: _log(sized.values) for sized in sizes}
        self._largest, self._mature = _log(largest_cm), _log(mature_m)
        stem, height, crown = (self._logs.get(kind) for kind in ("stem", "height", "crown"))
        self._of_largest = _both(stem, self._largest)
        self._middles = {
            "stem": _middle(stem), "height": _middle(height), "crown": _middle(crown),
            "height of stem": _difference(height, stem, HEIGHT_OF[1]),
            "crown of stem": _difference(crown, stem, CROWN_OF[1]),
            "crown of height": _difference(crown, height, 1.0),
            "height of mature": _difference(height, self._mature, 1.0),
            "stem of largest": _difference(stem, self._largest, 1.0),
        }  # fmt: skip

    def fit(self, factors: dict[str, float]) -> Fit:
        """How well the sizes agree if one of each kind is so many centimetres or metres."""
        log = {kind: math.log(factor) for kind, factor in factors.items()}
        found, middle = Fit(), {name: value for name, value in self._middles.items() if value is not None}
        if "stem of largest" in middle:
            self._species(found, log["stem"], middle["stem of largest"])
        elif "stem" in middle:
            usual, spread = TYPICAL["stem"]
            found.add(middle["stem"] + log["stem"] - usual, spread, "stems {:.2g} times the usual")
        if "height of mature" in middle:
            usual, spread = HEIGHT_OF_MATURE
            words = "heights {:.2g} times the usual of their species"
            found.add(middle["height of mature"] + log["height"] - usual, spread, words)
        elif "height" in middle:
            usual, spread = TYPICAL["height"]
            found.add(middle["height"] + log["height"] - usual, spread, "heights {:.2g} times the usual")
        self._of_each_other(found, log, middle)
        return found

    def _species(self, found: Fit, log: float, middle: float) -> None:
        usual, spread = STEM_OF_LARGEST
        found.add(middle + log - usual, spread, "stems {:.2g} times the usual of their species")
        larger = float(np.mean(self._of_largest + log > 0))
        if larger > LARGER / 2:
            found.total += min(MOST, (larger / LARGER) ** 2)
            found.words.append(f"{larger:.0%} of the stems larger than any of their species")

    def _of_each_other(self, found: Fit, log: dict[str, float], middle: dict[str, float]) -> None:
        if "height of stem" in middle:
            off = middle["height of stem"] + log["height"] - HEIGHT_OF[1] * log["stem"] - HEIGHT_OF[0]
            found.add(off, OFF, "heights {:.2g} times those of such stems")
        if "crown of stem" in middle:
            off = middle["crown of stem"] + log["crown"] - CROWN_OF[1] * log["stem"] - CROWN_OF[0]
            found.add(off, OFF, "crowns {:.2g} times those of such stems")
        elif "crown of height" in middle:
            usual, spread = CROWN_OF_HEIGHT
            found.add(middle["crown of height"] + log["crown"] - log["height"] - usual, spread,
                      "crowns {:.2g} times those of such heights")  # fmt: skip
        elif "crown" in middle:
            usual, spread = TYPICAL["crown"]
            found.add(middle["crown"] + log["crown"] - usual, spread, "crowns {:.2g} times the usual")


@dataclass(frozen=True)
class Choice:
    """Meanings of the columns of a file, what they cost against the headings, and how they fit."""

    meanings: dict[str, Meaning]
    cost: float
    fit: Fit

    @property
    def total(self) -> float:
        """Surprise and cost together: the least is the likeliest."""
        return self.cost + self.fit.total


def choices(sizes: Sequence[Sized], largest_cm: Floats, mature_m: Floats) -> tuple[Choice, Choice]:
    """What is said, and the likeliest: over every role and unit that the columns (one of each kind) may have."""
    proportions = Proportions(sizes, largest_cm, mature_m)
    found = []
    for combination in product(*(tuple(sized.options()) for sized in sizes)):
        meanings = {sized.heading: meaning for sized, (meaning, _) in zip(sizes, combination, strict=True)}
        systems = {meaning.unit in US for meaning in meanings.values()}
        cost = sum(cost for _, cost in combination) + MIXED * (len(systems) > 1)
        factors = {sized.kind: meanings[sized.heading].factor for sized in sizes}
        found.append(Choice(meanings, cost, proportions.fit(factors)))
    said = next(c for c in found if all(c.meanings[sized.heading] == sized.said for sized in sizes))
    return said, min(found, key=lambda choice: choice.total)


def fewer(sized: Sized, rows: Floats) -> Sized:
    """The same column on some of the rows."""
    return replace(sized, values=sized.values[rows.astype(bool)])


def _log(values: Floats) -> Floats:
    known = np.where(np.isfinite(values) & (values > 0), values, math.nan)
    return np.asarray(np.log(known))


def _middle(one: Floats | None) -> float | None:
    if one is None or np.isfinite(one).sum() < FEWEST:
        return None
    return float(np.nanmedian(one))


def _both(one: Floats | None, other: Floats) -> Floats:
    if one is None:
        return np.zeros(0)
    apart = one - other
    return np.asarray(apart[np.isfinite(apart)])


def _difference(one: Floats | None, other: Floats | None, times: float) -> float | None:
    """The middle of one less so many times another, on the rows that have both; None where too few have."""
    if one is None or other is None:
        return None
    return _middle(one - times * other)
