"""Dry mass and carbon of a standing tree from dbh, by each published estimator that applies, and their spread.

Sources: urban volume equations and densities of the Urban Tree Database (McHale 2007; Pillsbury, Reimer and Thompson
1998; Aguaron and McPherson 2012); Ter-Mikaelian and Korzukhin 1997; Jenkins et al. 2003; Chojnacky, Heath and Jenkins
2014; Nowak 1994 (open-grown).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from assessments.methods.problems import MethodProblem
from assessments.methods.wood import Wood, find
from assessments.methods.wood.biomass import dry_mass
from assessments.methods.wood.tables import Row, rows_of

from .predict import known_species, name_of

METHOD: Final = "biomass_and_carbon"
VERSION: Final = 1

FOLDER: Final = Path(__file__).parent
ESTIMATORS: Final = ("urban_volume", "ter_mikaelian_1997", "chojnacky_2014", "jenkins_2003")
# Forest equations overstate open-grown trees: Nowak 1994, Nowak and Crane 2002; from memory.
OPEN_GROWN: Final = 0.8
# Coarse roots to what is above ground; from memory.
ROOT_SHARE: Final = 0.26
CARBON_FRACTION: Final = 0.50
CO2_PER_CARBON: Final = 44 / 12
GENERAL: Final = {"hardwood": "Urb Gen Broadleaf", "softwood": "Urb Gen Conifer"}
NOTES: Final = (
    "Carbon above ground and in coarse roots (0.26 of what is above, from memory); forest equations times 0.8 for "
    "open-grown trees (Nowak 1994, from memory). Least and most are those of the published estimators that apply: "
    "single trees differ more, up to threefold (McHale et al. 2009).",
)


@dataclass(frozen=True)
class Estimate:
    """One estimator's oven-dry kg above ground; `outside`: dbh lay outside its range and was held at its end."""

    estimator: str
    dry_kg: float
    outside: bool
    source: str


@dataclass(frozen=True)
class Carbon:
    """Carbon of a tree in kg, roots included, by the first estimator in range; low and high over all in range."""

    carbon_kg: float
    low_kg: float
    high_kg: float
    dry_above_ground_kg: float
    estimator: str
    estimates: tuple[Estimate, ...]
    outside: bool
    notes: tuple[str, ...] = ()
    method: str = METHOD
    version: int = VERSION

    @property
    def co2_kg(self) -> float:
        """The same as carbon dioxide."""
        return self.carbon_kg * CO2_PER_CARBON


@cache
def _volumes() -> Mapping[str, Row]:
    return MappingProxyType({row["equation"]: row for row in rows_of(FOLDER / "volumes.csv")})


@cache
def _chojnacky() -> tuple[Row, ...]:
    return tuple(rows_of(FOLDER / "chojnacky.csv"))


@cache
def _forest_species() -> Mapping[str, Row]:
    return MappingProxyType({row["species"]: row for row in rows_of(FOLDER / "forest_species.csv")})


@cache
def _fractions() -> Mapping[str, float]:
    rows = rows_of(FOLDER / "carbon_fraction.csv")
    return MappingProxyType({row["species"]: float(row["carbon_fraction"]) for row in rows})


def volume_m3(equation: str, dbh_cm: float, height_m: float | None = None) -> float:
    """Give the volume above ground by an urban equation, by dbh and height where it is known.

    >>> round(volume_m3("Acer platanoides", 40.0), 4)
    1.4059
    """
    row = _volumes()[equation]
    if height_m is None:
        return float(row["a_dbh"]) * math.pow(dbh_cm, float(row["b_dbh"]))
    return float(row["a"]) * math.pow(dbh_cm, float(row["b"])) * math.pow(height_m, float(row["c"]))


def _held(dbh_cm: float, least: float, most: float) -> tuple[float, bool]:
    return min(max(dbh_cm, least), most), not least <= dbh_cm <= most


def urban(species: str, dbh_cm: float, height_m: float | None = None) -> Estimate | None:
    """Estimate by the urban volume equation matched to the species, else the general one, times wood density."""
    wood, row = _wood(species), known_species().get(name_of(species), {})
    equation = row.get("equation", "") or (GENERAL[wood.group] if wood else "")
    density = float(row.get("density_kg_m3", "") or (wood.basic_kg_m3.value if wood else 0.0))
    if not equation or not density:
        return None
    found = _volumes()[equation]
    dbh, outside = _held(dbh_cm, float(found["least_cm"]), float(found["most_cm"]))
    source = f"{equation}, {found['source']}, at {density:g} kg/m3"
    return Estimate("urban_volume", volume_m3(equation, dbh, height_m) * density, outside, source)


def ter_mikaelian(species: str, dbh_cm: float) -> Estimate | None:
    """Estimate by the species' own equation in forest; None where it has none."""
    row = _forest_species().get(name_of(species))
    if row is None:
        return None
    dbh, outside = _held(dbh_cm, float(row["least_cm"]), float(row["most_cm"]))
    mass = float(row["a"]) * math.pow(dbh, float(row["b"]))
    return Estimate("ter_mikaelian_1997", mass, outside, "Ter-Mikaelian and Korzukhin 1997")


def chojnacky(genus: str, family: str, density_g_cm3: float, dbh_cm: float, *, evergreen: bool) -> Estimate | None:
    """Estimate by Chojnacky et al. 2014 in forest, by genus before family; None where the taxon is not in it.

    >>> round(chojnacky("Fraxinus", "Oleaceae", 0.53, 40.0, evergreen=False).dry_kg, 1)
    769.9
    """
    kind = "evergreen" if evergreen else "deciduous"
    for taxon in (genus, family):
        for row in _chojnacky():
            inside = float(row["density_least"]) <= density_g_cm3 < float(row["density_most"])
            if taxon and taxon in row["taxa"].split() and row["kind"] in ("any", kind) and inside:
                dbh, outside = _held(dbh_cm, float(row["least_cm"]), float(row["most_cm"]))
                mass = math.exp(float(row["b0"]) + float(row["b1"]) * math.log(dbh))
                return Estimate("chojnacky_2014", mass, outside, f"Chojnacky et al. 2014, {row['taxa']}")
    return None


def jenkins(species: str, dbh_cm: float) -> Estimate | None:
    """Estimate by Jenkins et al. 2003 in forest, by the group of the species; None where its wood is not known."""
    wood = _wood(species)
    if wood is None:
        return None
    least, most = dry_mass(10.0, wood.biomass_group).range_cm
    dbh, outside = _held(dbh_cm, least, most)
    mass = dry_mass(dbh, wood.biomass_group).total_kg
    return Estimate("jenkins_2003", mass, outside, f"Jenkins et al. 2003, group {wood.biomass_group}")


def _wood(species: str) -> Wood | None:
    try:
        return find(species)
    except MethodProblem:
        return None


def carbon(
    species: str,
    dbh_cm: float,
    *,
    height_m: float | None = None,
    family: str = "",
    evergreen: bool = False,
    estimator: str = "",
) -> Carbon:
    """Give the carbon of a tree. Raises MethodProblem for a palm, a species no estimator covers, or an unknown one."""
    if estimator and estimator not in ESTIMATORS:
        raise MethodProblem("/estimator", f"must be one of {', '.join(ESTIMATORS)}")
    estimates = _estimates(species, dbh_cm, height_m, family, evergreen)
    asked = [one for one in estimates if not estimator or one.estimator == estimator]
    if not asked:
        raise MethodProblem("/species", "is in no published biomass equation held here")
    first = next((one for one in asked if not one.outside), asked[0])
    fraction = _fractions().get(name_of(species), CARBON_FRACTION)
    each = {one.estimator: _open_grown(one) * (1 + ROOT_SHARE) * fraction for one in estimates}
    near = [each[one.estimator] for one in estimates if not one.outside] or list(each.values())
    notes = [*NOTES]
    if first.outside:
        notes.append(f"A dbh of {dbh_cm:g} cm is outside the range of every equation: the mass is that at its end.")
    value = each[first.estimator]
    return Carbon(
        value, min(value, *near), max(value, *near), _open_grown(first), first.estimator, estimates,
        first.outside, tuple(notes),
    )  # fmt: skip


def _open_grown(one: Estimate) -> float:
    return one.dry_kg if one.estimator == "urban_volume" else one.dry_kg * OPEN_GROWN


def _estimates(
    species: str, dbh_cm: float, height_m: float | None, family: str, evergreen: bool
) -> tuple[Estimate, ...]:
    wood = _wood(species)
    name = name_of(species)
    genus = name.split()[0].capitalize()
    density = wood.basic_kg_m3.value / 1000 if wood else 0.0
    found = [urban(species, dbh_cm, height_m), ter_mikaelian(species, dbh_cm)]
    if density:
        found.append(chojnacky(genus, family, density, dbh_cm, evergreen=evergreen))
    found.append(jenkins(species, dbh_cm))
    return tuple(one for one in found if one is not None)
