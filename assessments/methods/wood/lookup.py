"""Finds the wood of a species by botanical or common name, with its genus where the species is not in the tables."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from statistics import fmean

from assessments.methods.problems import MethodProblem

from . import tables
from .tables import Row

METHOD = "wood_lookup"
VERSION = 1

# Two sources that differ by more than this are both named: project's choice.
DISAGREEMENT = 0.10


@dataclass(frozen=True)
class Quantity:
    """A number of the tables, where it comes from, and whether it is the species' own or its genus' mean."""

    value: float
    source: str
    basis: str  # species or genus


@dataclass(frozen=True)
class Wood:
    """What the tables know of one species. Densities in kg/m3, moisture in % of dry mass, bark in % of wood volume."""

    name: str
    key: str
    genus: str
    group: str  # hardwood or softwood
    biomass_group: str
    basic_kg_m3: Quantity
    moisture_percent: Quantity | None
    bark_volume_percent: Quantity | None
    green_kg_m3: Quantity | None
    green_with_bark_kg_m3: Quantity | None
    rows: Sequence[Row] = field(repr=False)
    notes: tuple[str, ...] = ()

    @property
    def log_weight(self) -> tuple[float, str] | None:
        """Green log weight by the National Park Service table in kg/m3 and the name of its row, if it has one."""
        weights = tables.log_weights()
        return weights.get(self.key) or weights.get(self.genus)


@lru_cache(maxsize=4096)
def find(name: str, pointer: str = "/species") -> Wood:
    """Find a species, else its genus. Raises MethodProblem where neither is in the tables.

    >>> find("Fraxinus pennsylvanica 'Marshall'").green_kg_m3.value
    833.0
    >>> find("Fraxinus ornus").green_kg_m3.basis
    'genus'
    """
    asked = tables.key(name[:200])
    found = tables.aliases().get(asked, asked)
    if found not in tables.species():
        found = tables.common_names().get(found, found)
    genus = found.split()[0] if found else ""
    if found in tables.species():
        return _wood(name, found, genus, (tables.species()[found],), "species")
    if genus in tables.genera():
        rows = tables.genera()[genus]
        # The forest service's own row for the genus, where it has one, else the mean of all its species.
        own = tuple(row for row in rows if row["scientific"].endswith(" spp."))
        return _wood(name, found, genus, own or rows, "genus")
    raise MethodProblem(pointer, "is not in the wood table, nor is its genus; give the density instead")


def _quantity(rows: Sequence[Row], column: str, source: str, basis: str) -> Quantity | None:
    known = [row for row in rows if row[column]]
    if not known:
        return None
    codes = sorted({row[source] for row in known})
    return Quantity(fmean(float(row[column]) for row in known), codes[0] if len(codes) == 1 else "FIA-genus", basis)


def _wood(name: str, key: str, genus: str, rows: Sequence[Row], basis: str) -> Wood:
    basic = _quantity(rows, "basic_kg_m3", "basic_source", basis)
    assert basic is not None  # noqa: S101 - every row of wood.csv has a basic density
    return Wood(
        name=name,
        key=key,
        genus=genus,
        group=rows[0]["group"],
        biomass_group=rows[0]["biomass_group"],
        basic_kg_m3=basic,
        moisture_percent=_quantity(rows, "moisture_percent", "moisture_source", basis),
        bark_volume_percent=_quantity(rows, "bark_volume_percent", "bark_source", basis),
        green_kg_m3=_quantity(rows, "green_kg_m3", "moisture_source", basis),
        green_with_bark_kg_m3=_quantity(rows, "green_with_bark_kg_m3", "bark_source", basis),
        rows=rows,
        notes=tuple(_notes(rows, basis, genus)),
    )


def _notes(rows: Sequence[Row], basis: str, genus: str) -> list[str]:
    notes = []
    if basis == "genus":
        notes.append(
            f"The species is not in the wood table: density is that of the genus {genus.title()} ({len(rows)} rows)."
        )
    for row in rows if basis == "species" else ():
        second = float(row["second_basic_kg_m3"] or 0)
        first = float(row["basic_kg_m3"])
        if second and abs(second / first - 1) > DISAGREEMENT:
            notes.append(
                f"Basic density: {first:g} kg/m3 in the forest service table, {second:g} in the wood density database."
            )
        if row["basic_source"] == "FIA/26":
            notes.append("The table's own density of this species is a mean of a wider group of species.")
    return notes
