"""The known taxa for one run of the intake: matched by name, with what the checks and the load need of each."""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory import catalogue
from inventory.intake.names import Catalogue, Settled
from inventory.models import Species, SpeciesName, SpeciesSettlement
from inventory.problems import Conflict


@dataclass(frozen=True)
class Taxon:
    """Of one taxon: its row (None: matched from the files alone), and the largest sizes believable of it."""

    species_id: int | None
    max_dbh_cm: float | None
    mature_height_m: float | None


@dataclass(frozen=True)
class Taxa:
    """Names to taxa."""

    names: Catalogue
    by_name: dict[str, Taxon]


def from_files() -> Taxa:
    """The taxa of the catalogue's files: enough to survey and check without a database."""
    return Taxa(
        Catalogue(catalogue.every_name()),
        {row.botanical_name: Taxon(None, row.max_dbh_cm, row.mature_height_m) for row in catalogue.read_species()},
    )


def from_database() -> Taxa:
    """The taxa of the species tables, and what was settled. Raises Conflict where the tables are empty."""
    found = Species.objects.values_list("botanical_name", "id", "max_dbh_cm", "mature_height_m")
    taxa = {name: Taxon(pk, dbh, height) for name, pk, dbh, height in found}
    return Taxa(Catalogue(every_name(taxa), _settled()), taxa)


def every_name(taxa: Iterable[str] | None = None) -> Iterable[tuple[str, str, str, str]]:
    """Every name in the species tables (accepted name, name, kind, language). Raises Conflict where there is none."""
    names = list(taxa or Species.objects.values_list("botanical_name", flat=True))
    if not names:
        raise Conflict("the species catalogue is not loaded: run `manage.py reference` first")
    for name in names:
        yield name, name, "accepted", "la"
    yield from SpeciesName.objects.order_by("id").values_list("species__botanical_name", "name", "kind", "language")


def _settled() -> dict[str, Settled]:
    """What persons settled, by the key of the text."""
    rows = SpeciesSettlement.objects.values_list("key", "species__botanical_name", "outcome")
    return {key: Settled(name, outcome == "no_tree") for key, name, outcome in rows}
