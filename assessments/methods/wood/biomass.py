"""Dry mass of branches and foliage from dbh, by species group: Jenkins et al. 2003, for trees within its range.

The relation comes from forest trees; open-grown crowns differ, by a factor of two and more for single trees.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

from . import tables

METHOD: Final = "branch_mass_jenkins_2003"
VERSION: Final = 1

# exp(B1 + B2 / dbh_cm) is the share of the mass above ground: (foliage, bark of the stem, wood of the stem).
SHARES: Final = {
    "hardwood": ((-4.0813, 5.8816), (-2.0129, -1.6805), (-0.3065, -5.4240)),
    "softwood": ((-2.9584, 4.4766), (-2.0980, -1.1432), (-0.3737, -1.8055)),
}


@dataclass(frozen=True)
class Dry:
    """Oven-dry kg above ground of one tree, and whether its dbh lies in the range of the relation."""

    total_kg: float
    branches_kg: float
    foliage_kg: float
    within_range: bool
    range_cm: tuple[float, float]


@cache
def _groups() -> dict[str, tables.Row]:
    return {row["biomass_group"]: row for row in tables.rows_of(tables.FOLDER / "biomass.csv")}


def dry_mass(dbh_cm: float, biomass_group: str) -> Dry:
    """Give dry masses of a tree. Raises KeyError for an unknown group.

    >>> round(dry_mass(40.0, "8").total_kg, 1), round(dry_mass(40.0, "8").branches_kg / 797.4, 3)
    (797.4, 0.21)
    """
    row = _groups()[biomass_group]
    total = math.exp(float(row["b0"]) + float(row["b1"]) * math.log(dbh_cm))
    foliage, bark, wood = (math.exp(b1 + b2 / dbh_cm) for b1, b2 in SHARES[row["kind"]])
    limits = float(row["least_dbh_cm"]), float(row["most_dbh_cm"])
    # Very small stems give shares above one: nothing is left for branches then.
    branches = max(1 - foliage - bark - wood, 0.0)
    return Dry(total, total * branches, total * foliage, limits[0] <= dbh_cm <= limits[1], limits)
