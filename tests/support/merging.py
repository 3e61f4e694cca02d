"""Cities loaded and merged with later files, and what stands afterwards, row by row, as the database has it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.db import connection

from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.intake.mapping import Mapping
from inventory.intake.merge import choices as choosing
from inventory.intake.merge import merging, queries
from inventory.models import IntakeMerge, IntakeMergeRow
from tests.support import intake

Rows = Sequence[Sequence[str]]


def load(folder: Path, rows: Rows, mapping: Mapping | None = None) -> None:
    """Load a city's first file."""
    loading.load(SERVICE, intake.source(folder, rows, "first.csv"), mapping or intake.mapping())


def check(folder: Path, rows: Rows, mapping: Mapping | None = None, **options: Any) -> IntakeMerge:
    """The dry run of a later file; `take` names kinds to take."""
    return _done(merging.check, folder, rows, mapping, options)


def merge(folder: Path, rows: Rows, mapping: Mapping | None = None, **options: Any) -> IntakeMerge:
    """Merge a later file; `take` names kinds to take."""
    return _done(merging.merge, folder, rows, mapping, options)


def _done(how: Any, folder: Path, rows: Rows, mapping: Mapping | None, options: dict[str, Any]) -> IntakeMerge:
    chosen = choosing.read(
        {
            "kinds": dict.fromkeys(options.pop("take", ()), "file") | dict.fromkeys(options.pop("keep", ()), "ours"),
            "lines": options.pop("lines", {}),
            "trees": options.pop("trees", {}),
        }
    )
    source = intake.source(folder, rows, "later.csv")
    made: IntakeMerge = how(SERVICE, source, mapping or intake.mapping(), chosen, **options)
    return made


def kinds(made: IntakeMerge) -> dict[str, int]:
    """How many rows of each kind, those of which there are any."""
    return {kind: number for kind, number in made.counts["kinds"].items() if number}


def row(made: IntakeMerge, kind: str) -> IntakeMergeRow:
    """The only row of a kind."""
    return queries.rows(made, kind).get()


def standing() -> dict[str, list[str]]:
    """Every column of every tree, site and measurement but `version`, which only ever grows."""
    found = {}
    with connection.cursor() as cursor:
        for table in ("tree", "site", "measurement"):
            cursor.execute(f"SELECT (to_jsonb(t) - 'version')::text FROM {table} t ORDER BY id")
            found[table] = [line for (line,) in cursor.fetchall()]
    return found
