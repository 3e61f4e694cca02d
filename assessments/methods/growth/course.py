"""Canopy and carbon of a place over a horizon: the tree as it would have grown on, against what stands after an action.

A tree starts at its measured size and grows as its equations do. Bands: scatter of single trees of the replacement.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from assessments.methods.problems import MethodProblem

from .biomass import Carbon, carbon
from .predict import Size, age_years, choose, predict

METHOD: Final = "canopy_and_carbon_course"
VERSION: Final = 1

LONGEST_YEARS: Final = 100
# A nursery tree of 14 to 16 cm girth: common practice, no source.
PLANTED_DBH_CM: Final = 4.8


@dataclass(frozen=True)
class Grower:
    """A tree to grow: species and dbh in cm; crown width in m where it was measured; a region of the database."""

    species: str
    dbh_cm: float
    crown_width_m: float | None = None
    region: str = ""
    family: str = ""
    evergreen: bool = False
    conifer: bool | None = None


@dataclass(frozen=True)
class Stand:
    """A tree by year 0..n: dbh cm, crown area m2 with the 80 % range of single trees, carbon kg (roots included)."""

    dbh_cm: tuple[float, ...]
    canopy_m2: tuple[float, ...]
    canopy_low_m2: tuple[float, ...]
    canopy_high_m2: tuple[float, ...]
    carbon_kg: tuple[float, ...]
    notes: tuple[str, ...] = ()

    @property
    def uptake_kg_a_year(self) -> tuple[float, ...]:
        """Carbon taken up in each year, one fewer than the years."""
        return tuple(after - before for before, after in zip(self.carbon_kg, self.carbon_kg[1:], strict=False))


@dataclass(frozen=True)
class YearRow:
    """One year: what would stand had nothing been done, and what stands; canopy in m2, carbon in kg."""

    year: int
    canopy_kept_m2: float
    canopy_m2: float
    canopy_low_m2: float
    canopy_high_m2: float
    carbon_kept_kg: float
    carbon_kg: float


@dataclass(frozen=True)
class Balance:
    """Canopy and carbon lost and regained. `regained_year`: first year with the canopy of today, None: not in time."""

    rows: tuple[YearRow, ...]
    canopy_lost_m2: float
    canopy_lost_m2_years: float
    carbon_lost_kg: float
    carbon_short_kg: float
    regained_year: int | None
    notes: tuple[str, ...] = ()
    method: str = METHOD
    version: int = VERSION


def crown_area_m2(width_m: float, second_width_m: float | None = None) -> float:
    """Give the area of a crown from one or two perpendicular widths (an ellipse).

    >>> round(crown_area_m2(8.5, 7.1), 3)
    47.399
    """
    return math.pi / 4 * width_m * (width_m if second_width_m is None else second_width_m)


def stand(tree: Grower, years: int) -> Stand:
    """Grow a tree over years. Raises MethodProblem for a palm or a species no biomass equation covers.

    Beyond the largest tree that the equation for dbh knows it no longer grows, and the notes say so.
    """
    age = age_years(tree.species, tree.dbh_cm, tree.region, conifer=tree.conifer)
    curve = choose("dbh_from_age", tree.species, tree.region, conifer=tree.conifer).equation
    ages = age.value + np.arange(years + 1)
    grown = np.maximum.accumulate(curve.at(ages))
    dbh = tuple(float(value) for value in tree.dbh_cm * grown / grown[0])
    crowns = [predict("crown_from_dbh", tree.species, one, tree.region, conifer=tree.conifer) for one in dbh]
    measured = tree.crown_width_m / crowns[0].value if tree.crown_width_m else 1.0
    widths = np.maximum.accumulate([one.value for one in crowns]) * measured
    masses = [carbon(tree.species, one, family=tree.family, evergreen=tree.evergreen) for one in dbh]
    area = tuple(crown_area_m2(float(width)) for width in widths)
    spread = _spread(crowns, tree.crown_width_m)
    return Stand(
        dbh,
        area,
        tuple(one * low**2 for one, (low, _) in zip(area, spread, strict=True)),
        tuple(one * high**2 for one, (_, high) in zip(area, spread, strict=True)),
        tuple(float(mass) for mass in np.maximum.accumulate([one.carbon_kg for one in masses])),
        _notes(tree, age, crowns, float(ages[-1]) > curve.x_most) + _held(tree, masses[-1]),
    )


def _spread(crowns: Sequence[Size], measured: float | None) -> list[tuple[float, float]]:
    """Give the range of a crown's width over its best value: of a measured one none is known."""
    if measured:
        return [(1.0, 1.0)] * len(crowns)
    return [(one.low / one.value, one.high / one.value) for one in crowns]


def _notes(tree: Grower, age: Size, crowns: Sequence[Size], past: bool) -> tuple[str, ...]:
    notes = [*age.notes, *crowns[0].notes]
    if past:
        notes.append(f"{tree.species}: past the oldest tree of its equation it is taken to grow no more.")
    if any(one.outside for one in crowns):
        notes.append(f"{tree.species}: past the largest stem of its equation the crown is held.")
    return tuple(dict.fromkeys(notes))


def _held(tree: Grower, last: Carbon) -> tuple[str, ...]:
    return (f"{tree.species}: past the range of every biomass equation carbon is held.",) if last.outside else ()


def nothing(years: int) -> Stand:
    """Give a place without a tree."""
    zeros = (0.0,) * (years + 1)
    return Stand(zeros, zeros, zeros, zeros, zeros)


def reduced(kept: Stand, width_share: float, regrowth_m_a_year: float, every_years: int | None) -> Stand:
    """Give a tree whose crown loses a share of its width, growing back at each side; again every so many years.

    Carbon is left as it was: what a reduction takes is a small part of it, and is not counted.
    """
    area = []
    for year, full in enumerate(kept.canopy_m2):
        since = year % every_years if every_years else year
        width = 2 * math.sqrt(full / math.pi)
        area.append(crown_area_m2(min(width, width * (1 - width_share) + 2 * regrowth_m_a_year * since)))
    cut = tuple(area)
    return Stand(kept.dbh_cm, cut, cut, cut, kept.carbon_kg, kept.notes)


def balance(kept: Stand, after: Stand) -> Balance:
    """Set what stands after an action against what would have stood, year by year from the action on (year 0)."""
    rows = tuple(
        YearRow(year, *values)
        for year, values in enumerate(
            zip(
                kept.canopy_m2, after.canopy_m2, after.canopy_low_m2, after.canopy_high_m2, kept.carbon_kg,
                after.carbon_kg, strict=True,
            )
        )
    )  # fmt: skip
    today = kept.canopy_m2[0]
    regained = next((row.year for row in rows if row.canopy_m2 >= today), None)
    short = sum(max(row.canopy_kept_m2 - row.canopy_m2, 0.0) for row in rows[1:])
    return Balance(
        rows,
        canopy_lost_m2=max(today - after.canopy_m2[0], 0.0),
        canopy_lost_m2_years=short,
        carbon_lost_kg=max(kept.carbon_kg[0] - after.carbon_kg[0], 0.0),
        carbon_short_kg=kept.carbon_kg[-1] - after.carbon_kg[-1],
        regained_year=regained,
        notes=tuple(dict.fromkeys((*kept.notes, *after.notes))),
    )


def planted(species: str, years: int, *, region: str = "", family: str = "", delay_years: int = 0) -> Stand:
    """Grow a nursery tree planted after a delay in whole years. Raises MethodProblem as `stand` does."""
    if not 0 <= delay_years <= years:
        raise MethodProblem("/delay_years", f"must be 0 to {years}")
    young = stand(Grower(species, PLANTED_DBH_CM, region=region, family=family), years - delay_years)
    wait = (0.0,) * delay_years
    return Stand(
        wait + young.dbh_cm, wait + young.canopy_m2, wait + young.canopy_low_m2, wait + young.canopy_high_m2,
        wait + young.carbon_kg, young.notes,
    )  # fmt: skip
