"""Differences that all trees share: a factor on a size, a shift of all points. They are told and held, not taken."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.intake.merge.differ import SIZES, Differences
from inventory.intake.table import Bools, Floats

if TYPE_CHECKING:
    from inventory.intake.merge.match import Sides

# What a factor tells of, by its value: the conversions are exact by definition (SI brochure; international inch).
KNOWN: Final = (
    (math.pi, "girth now, diameter before (or the other way round in the mapping)"),
    (1 / math.pi, "diameter now, girth before (or the other way round in the mapping)"),
    (2.54, "centimetres read as inches"), (1 / 2.54, "inches read as centimetres"),
    (10.0, "centimetres read as millimetres, or the other way round"), (0.1, "millimetres read as centimetres"),
    (2.0, "diameter now, radius before"), (0.5, "radius now, diameter before"),
    (1 / 0.3048, "metres read as feet, or the other way round"), (0.3048, "feet read as metres"),
    (100.0, "metres read as centimetres"), (0.01, "centimetres read as metres"),
)  # fmt: skip
# The project's choice: so many trees must share a factor, and it must be this far from 1, to be no growth.
SHARE, LEAST_OFF, FEW = 0.5, 0.05, 10
NEAR = 0.03


@dataclass(frozen=True)
class Factor:
    """One size is so many times as large in the file, on so many of so many trees."""

    times: float
    trees: int
    of: int

    @property
    def meaning(self) -> str:
        """What such a factor usually is; empty where it is none that is known."""
        return next((told for value, told in KNOWN if abs(self.times / value - 1) < NEAR), "")


def values(both: "Sides", found: Differences, name: str) -> tuple[Floats, Floats]:
    """A size of the pairs, in the file and here."""
    column = f"{name}_cm" if name == "dbh" else f"{name}_m"
    return both.facts.table.numbers[column][found.rows], both.trees.numbers[column][found.held]


def factors(both: "Sides", found: Differences) -> dict[str, Factor]:
    """The sizes that differ by one factor throughout."""
    made = {}
    for name in SIZES:
        now, before = values(both, found, name)
        known = ~np.isnan(now) & ~np.isnan(before)
        ratio = now[known] / before[known]
        if len(ratio) < FEW:
            continue
        middle = float(np.median(ratio))
        common = int((np.abs(ratio / middle - 1) < NEAR).sum())
        if abs(middle - 1) > LEAST_OFF and common > SHARE * len(ratio):
            made[name] = Factor(middle, common, len(ratio))
    return made


def by_factor(both: "Sides", found: Differences, name: str, factor: Factor) -> Bools:
    """The pairs whose size differs by that factor."""
    now, before = values(both, found, name)
    return np.asarray(found.differs[name] & (np.abs(now / before / factor.times - 1) < NEAR))
