"""Brings the species tables in line with the catalogue's files; a second time it changes nothing."""

from collections.abc import Sequence
from dataclasses import asdict

from django.db import connection, transaction

from inventory.catalogue import NameRow, SpeciesRow, read_names, read_species
from inventory.statements import statement


@transaction.atomic
def apply() -> dict[str, int]:
    """Insert or correct every species and name of the files; return how many rows were new or changed.

    What a city added to the tables by hand stays, unless it has the name of a row of the files.
    """
    return {
        "species": _upsert("upsert_species", read_species()),
        "names": _upsert("upsert_species_names", _told_apart(read_names())),
    }


def _told_apart(rows: Sequence[NameRow]) -> list[NameRow]:
    """One row for each name in a language: a name of two taxa tells nothing and is left out."""
    taxa: dict[tuple[str, str], set[str]] = {}
    for row in rows:
        taxa.setdefault((row.name, row.language), set()).add(row.botanical_name)
    kept = {(row.name, row.language): row for row in rows if len(taxa[row.name, row.language]) == 1}
    return list(kept.values())


def _upsert(name: str, rows: Sequence[SpeciesRow | NameRow]) -> int:
    records = [asdict(row) for row in rows]
    columns = {key: [record[key] for record in records] for key in records[0]}
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", name), columns)
        return int(cursor.rowcount)
