"""Strength of green wood: the data set named, species before genus, density at last; data sets are never mixed.

Compression along the grain governs a standing stem; rupture is the bending strength of small clear pieces.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Final

from . import tables
from .lookup import Wood
from .tables import Row

METHOD: Final = "green_strength"
VERSION: Final = 1

DATA_SETS: Final = ("auto", "handbook", "catalogue", "density")
# Wood Handbook Table 5-11a, green, MPa = a x G^b with G basic specific gravity (from memory of the table).
COMPRESSION_FROM_DENSITY: Final = {"hardwood": (49.0, 1.11), "softwood": (49.7, 0.94)}
RUPTURE_FROM_DENSITY: Final = {"hardwood": (118.7, 1.16), "softwood": (109.6, 1.01)}
# Added spread, as a coefficient of variation, of a genus' mean and of the relation to density: project's choice, the
# latter held to the 49 handbook rows in the tests.
GENUS_SPREAD: Final = 0.15
DENSITY_SPREAD: Final = 0.15


@dataclass(frozen=True)
class Strength:
    """Green strength in MPa, the data set, its basis (species, genus, density or given), scatter as a fraction."""

    compression_mpa: float
    rupture_mpa: float | None
    data_set: str
    basis: str
    source: str
    variation: float
    notes: tuple[str, ...] = ()


def from_density(basic_kg_m3: float, group: str) -> tuple[float, float]:
    """Give compression along the grain and rupture in MPa from basic density. Raises KeyError for another group.

    Source: USDA Wood Handbook, Table 5-11a (from memory). Fitted to specific gravities of about 0.3 to 0.9.

    >>> [round(value, 1) for value in from_density(530, "hardwood")]
    [24.2, 56.8]
    """
    gravity = basic_kg_m3 / 1000
    (a, b), (c, d) = COMPRESSION_FROM_DENSITY[group], RUPTURE_FROM_DENSITY[group]
    return a * gravity**b, c * gravity**d


def strength_of(wood: Wood, data_set: str = "auto") -> Strength | None:
    """Give the strength of a species by one data set, or None where that has neither species nor genus.

    auto: handbook species, catalogue species, handbook genus, catalogue genus, density.

    >>> from .lookup import find
    >>> strength_of(find("Fraxinus pennsylvanica")).compression_mpa, strength_of(find("Tilia cordata")).data_set
    (29.0, 'catalogue')
    """
    for way in _WAYS[data_set]:
        found = way(wood)
        if found is not None:
            return found
    return None


def _handbook_species(wood: Wood) -> Strength | None:
    row = tables.species().get(wood.key)
    if row is None or not row["compression_mpa"]:
        return None
    other = tables.catalogue().get(wood.key)
    second = "" if other is None else other["compression_mpa"]
    return _handbook([row], "species", 0.0, _also("the Stuttgart catalogue, from memory,", second))


def _handbook_genus(wood: Wood) -> Strength | None:
    rows = [row for row in tables.genera().get(wood.genus, ()) if row["compression_mpa"]]
    return _handbook(rows, "genus", GENUS_SPREAD, _genus_note(len(rows), "handbook")) if rows else None


def _handbook(rows: Sequence[Row], basis: str, spread: float, notes: tuple[str, ...]) -> Strength:
    codes = sorted({row["strength_source"] for row in rows})
    if "WH-memory" in codes:
        notes = (*notes, "Strength: Wood Handbook values from memory of the table; check the printed table.")
    return Strength(
        compression_mpa=fmean(float(row["compression_mpa"]) for row in rows),
        rupture_mpa=fmean(float(row["rupture_mpa"]) for row in rows),
        data_set="handbook",
        basis=basis,
        source="; ".join(tables.reference(code) for code in codes),
        variation=math.hypot(tables.scatter()["compression"], spread),
        notes=notes,
    )


def _catalogue_species(wood: Wood) -> Strength | None:
    row = tables.catalogue().get(wood.key)
    return None if row is None else _catalogue([row], "species", 0.0, ())


def _catalogue_genus(wood: Wood) -> Strength | None:
    rows = [row for name, row in tables.catalogue().items() if name.split()[0] == wood.genus]
    return _catalogue(rows, "genus", GENUS_SPREAD, _genus_note(len(rows), "catalogue")) if rows else None


def _catalogue(rows: Sequence[Row], basis: str, spread: float, notes: tuple[str, ...]) -> Strength:
    return Strength(
        compression_mpa=fmean(float(row["compression_mpa"]) for row in rows),
        rupture_mpa=None,
        data_set="catalogue",
        basis=basis,
        source=tables.reference("Stuttgart"),
        variation=math.hypot(tables.scatter()["compression"], spread),
        notes=(*notes, "Strength: Stuttgart catalogue from memory; the catalogue is disputed; check the printed one."),
    )


def _density(wood: Wood) -> Strength:
    compression, rupture = from_density(wood.basic_kg_m3.value, wood.group)
    return Strength(
        compression_mpa=compression,
        rupture_mpa=rupture,
        data_set="density",
        basis="density",
        source=tables.reference("WH-5-11"),
        variation=math.hypot(tables.scatter()["compression"], DENSITY_SPREAD),
        notes=("Strength is estimated from wood density: neither the species nor its genus has been tested.",),
    )


def _also(who: str, compression: str) -> tuple[str, ...]:
    return (f"For the same species {who} gives {compression} MPa; data sets are not mixed.",) if compression else ()


def _genus_note(count: int, which: str) -> tuple[str, ...]:
    return (f"Strength is the mean of {count} species of the genus in the {which}.",)


_WAYS: Final = {
    "auto": (_handbook_species, _catalogue_species, _handbook_genus, _catalogue_genus, _density),
    "handbook": (_handbook_species, _handbook_genus),
    "catalogue": (_catalogue_species, _catalogue_genus),
    "density": (_density,),
}
