"""Size of a tree from its age or its dbh: the species' own equation, else one of its genus, else all broadleaves.

Each answer says which equation it rests on, whether x lay outside its range, and the range that holds 80 % of trees.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np

from assessments.methods.problems import MethodProblem
from assessments.methods.wood import find
from assessments.methods.wood.tables import Row, aliases, key, rows_of

from .equations import Equation

METHOD: Final = "size_by_growth_equation"
VERSION: Final = 1

FOLDER: Final = Path(__file__).parent
KINDS: Final = ("dbh_from_age", "height_from_dbh", "crown_from_dbh", "leaf_area_from_dbh")
UNITS: Final = {"dbh_from_age": "cm", "height_from_dbh": "m", "crown_from_dbh": "m", "leaf_area_from_dbh": "m2"}
# The reference cities of the database, one a climate region. The order, from temperate to tropical, is the project's
# choice: where a city is like none, or a species is not in its region, the first region that has it stands in.
REGIONS: Final = {
    "NoEast": "Queens, New York", "PacfNW": "Longview, Washington", "LoMidW": "Indianapolis, Indiana",
    "MidWst": "Minneapolis, Minnesota", "Piedmt": "Charlotte, North Carolina", "TpIntW": "Boise, Idaho",
    "NMtnPr": "Fort Collins, Colorado", "NoCalC": "Berkeley, California", "SacVal": "Sacramento, California",
    "InlVal": "Modesto, California", "InterW": "Albuquerque, New Mexico", "GulfCo": "Charleston, South Carolina",
    "SoCalC": "Santa Monica, California", "InlEmp": "Claremont, California", "SWDsrt": "Glendale, Arizona",
    "CenFla": "Orlando, Florida", "Tropic": "Honolulu, Hawaii",
}  # fmt: skip
_PLACE: Final = {region: place for place, region in enumerate(REGIONS)}
# From the best to the last resort.
BASES: Final = ("species", "species_elsewhere", "genus", "genus_elsewhere", "general")


@dataclass(frozen=True)
class Chosen:
    """An equation and how near it is to the tree: a word of BASES."""

    equation: Equation
    basis: str

    @property
    def says(self) -> str:
        """Name the equation in words."""
        one = self.equation
        if self.basis == "general":
            return f"pooled fit to {one.trees} trees of all {one.species} species of the Urban Tree Database"
        name = one.species[:1].upper() + one.species[1:]
        return f"{name} in {REGIONS[one.region]} ({one.trees} trees, {one.standing})"


@dataclass(frozen=True)
class Size:
    """A size in `unit`: `value` of the equation, `low`..`high` for 80 % of single trees; `outside`: x was held."""

    kind: str
    value: float
    low: float
    high: float
    unit: str
    basis: str
    equation: str
    outside: bool
    notes: tuple[str, ...] = ()
    method: str = METHOD
    version: int = VERSION


def _equation(row: Row) -> Equation:
    x_least, x_most, y_least, y_most = (float(row[name]) for name in ("x_least", "x_most", "y_least", "y_most"))
    return Equation(
        row["kind"], row["region"], row["species"], row["form"], tuple(float(row[name]) for name in "abcde"),
        x_least, x_most, y_least, y_most, int(row["trees"]), float(row["low"]), float(row["high"]), row["standing"],
    )  # fmt: skip


def _order(one: Equation) -> tuple[int, int, str]:
    return _PLACE.get(one.region, len(_PLACE)), -one.trees, one.species


@cache
def equations() -> Mapping[tuple[str, str], tuple[Equation, ...]]:
    """All equations by kind and species, the first region first; `broadleaf` and `conifer` are the pooled ones."""
    found: dict[tuple[str, str], list[Equation]] = defaultdict(list)
    for row in rows_of(FOLDER / "equations.csv"):
        equation = _equation(row)
        found[equation.kind, equation.species].append(equation)
    return MappingProxyType({place: tuple(sorted(rows, key=_order)) for place, rows in found.items()})


@cache
def known_species() -> Mapping[str, Row]:
    """Tree type, wood density and volume equation by species, as the database has them."""
    return MappingProxyType({row["species"]: row for row in rows_of(FOLDER / "species.csv")})


@cache
def _palms() -> frozenset[str]:
    rows = known_species().items()
    names = {name for name, row in rows if row["type"].startswith("P")}
    return frozenset(names | {name.split()[0] for name in names})


def name_of(species: str) -> str:
    """Give a botanical name as the tables have it. Raises MethodProblem for a palm or an empty name."""
    asked = key(species[:200])
    if not asked:
        raise MethodProblem("/species", "must be a botanical name")
    if asked in _palms() or asked.split()[0] in _palms():
        raise MethodProblem("/species", "is a palm: its published equations go by height, which are not held here")
    if ("crown_from_dbh", asked) in equations():
        return asked
    other = aliases().get(asked, asked)
    names = [name for name, scientific in aliases().items() if scientific == other]
    return next((name for name in (other, *names) if ("crown_from_dbh", name) in equations()), asked)


def choose(kind: str, species: str, region: str = "", *, conifer: bool | None = None) -> Chosen:
    """Choose the equation of a kind for a species in a region (a key of REGIONS; empty: none is like the city).

    Raises MethodProblem for a palm or an unknown region, ValueError for an unknown kind.

    >>> choose("crown_from_dbh", "Tilia cordata", "NoEast").basis, choose("crown_from_dbh", "Sorbus aria").basis
    ('species', 'general')
    """
    if kind not in KINDS:
        raise ValueError(f"kind: {kind!r} is not one of {', '.join(KINDS)}")
    if region and region not in REGIONS:
        raise MethodProblem("/region", f"must be one of {', '.join(REGIONS)}")
    name = name_of(species)
    own = equations().get((kind, name), ())
    genus = name.split()[0]
    kin = [one for (what, other), rows in equations().items() for one in rows
           if what == kind and one.region and other.split()[0] == genus]  # fmt: skip
    kin.sort(key=_order)
    for basis, found in (
        ("species", [one for one in own if one.region == region]),
        ("species_elsewhere", list(own)),
        ("genus", [one for one in kin if one.region == region]),
        ("genus_elsewhere", kin),
    ):
        if found:
            return Chosen(found[0], basis)
    return Chosen(equations()[kind, "conifer" if _conifer(name, conifer) else "broadleaf"][0], "general")


def _conifer(name: str, given: bool | None) -> bool:
    if given is not None:
        return given
    try:
        return find(name).group == "softwood"
    except MethodProblem:
        return False


def predict(kind: str, species: str, x: float, region: str = "", *, conifer: bool | None = None) -> Size:
    """Give a size from age in years (dbh_from_age) or dbh in cm. Outside the equation's range x is held, and says so.

    >>> predict("height_from_dbh", "Fraxinus pennsylvanica", 40.0, "NoEast").value
    13.946
    """
    chosen = choose(kind, species, region, conifer=conifer)
    equation = chosen.equation
    value = float(equation.at(x))
    outside = not equation.x_least <= x <= equation.x_most
    return Size(
        kind, round(value, 3), round(value * equation.low, 3), round(value * equation.high, 3), UNITS[kind],
        chosen.basis, chosen.says, outside, tuple(_notes(chosen, x, outside)),
    )  # fmt: skip


def _notes(chosen: Chosen, x: float, outside: bool) -> list[str]:
    equation, notes = chosen.equation, []
    what = "age" if equation.kind == "dbh_from_age" else "dbh"
    if outside:
        unit = "years" if what == "age" else "cm"
        notes.append(
            f"{what.capitalize()} {x:g} {unit} lies outside {equation.x_least:g} to {equation.x_most:g}, where the "
            "equation is valid: it was held at its end."
        )
    if chosen.basis == "general":
        notes.append("Neither the species nor its genus is in the Urban Tree Database: all broadleaves or conifers.")
    elif chosen.basis.startswith("genus"):
        notes.append("The species is not in the Urban Tree Database: another of its genus stands in.")
    if chosen.basis.endswith("elsewhere"):
        notes.append("No equation of a region like the city's: the nearest one in a fixed order of regions stands in.")
    return notes


def age_years(species: str, dbh_cm: float, region: str = "", *, conifer: bool | None = None) -> Size:
    """Give the age at which the equation for dbh reaches a dbh, by reading it backwards; low and high from its scatter.

    >>> age_years("Liquidambar styraciflua", 42.2, "NoCalC").value
    33.0
    """
    chosen = choose("dbh_from_age", species, region, conifer=conifer)
    equation = chosen.equation
    ages = np.linspace(equation.x_least, equation.x_most, 4001)
    rising = np.maximum.accumulate(equation.at(ages))
    at = [float(np.interp(dbh_cm / ratio, rising, ages)) for ratio in (equation.high, 1.0, equation.low)]
    outside = not rising[0] <= dbh_cm <= rising[-1]
    notes = tuple(note for note in _notes(chosen, at[1], False))
    if outside:
        notes += (f"A dbh of {dbh_cm:g} cm lies outside {rising[0]:.1f} to {rising[-1]:.1f} cm: held at its end.",)
    low, value, high = (round(one, 1) for one in at)
    return Size("age_from_dbh", value, low, high, "years", chosen.basis, chosen.says, outside, notes)
