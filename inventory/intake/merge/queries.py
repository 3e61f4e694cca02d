"""Reads about merges and their dry runs: which there were, and their rows by kind and field."""

import uuid
from collections.abc import Iterable, Iterator
from typing import Any, Final

from django.db.models import QuerySet

from inventory.formats import csv_writer
from inventory.intake.merge.listing import Listed
from inventory.models import IntakeMerge, IntakeMergeRow
from inventory.problems import Missing

EXAMPLES: Final = 5
# Kinds of which rows are kept, in the order in which a person should look at them.
LISTED: Final = (
    "changed", "moved", "appeared", "gone", "vanished", "returned", "ambiguous", "refused", "only_ours",
)  # fmt: skip
HEADING: Final = (
    "line", "tree", "kind", "taken", "key", "species", "dbh_cm", "longitude", "latitude", "street", "house_number",
    "moved_m", "differences", "kept_back", "reasons",
)  # fmt: skip


def merges() -> QuerySet[IntakeMerge]:
    """All merges and the dry runs that are kept, the newest first."""
    return IntakeMerge.objects.select_related("made_by", "load")


def merge(uid: uuid.UUID) -> IntakeMerge:
    """One of them. Raises Missing."""
    found = merges().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no merge {uid}, or its dry run was dropped for newer ones")
    return found


def rows(of: IntakeMerge, kind: str = "", field: str = "", standing: str = "") -> QuerySet[IntakeMergeRow]:
    """The rows that are not simply the same, in the order of the file, then the trees that only we have.

    `field`: only rows that differ in it; `standing`: only rows with a difference that stands so (free, conflict ...).
    """
    found = IntakeMergeRow.objects.filter(merge=of).order_by("pk")
    if kind:
        found = found.filter(kind=kind)
    if field:
        found = found.filter(differing__contains=[field])
    return found.filter(standings__contains=[standing]) if standing else found


def examples(of: IntakeMerge, most: int = EXAMPLES) -> dict[str, list[dict[str, Any]]]:
    """Of each kind its first few rows; one query a kind, each over an index."""
    found = {kind: [as_dict(row) for row in rows(of, kind)[:most]] for kind in LISTED if of.counts["kinds"].get(kind)}
    return {kind: some for kind, some in found.items() if some}


def as_dict(row: IntakeMergeRow | Listed) -> dict[str, Any]:
    """A row as JSON."""
    return {
        "line": row.line,
        "tree": str(row.tree_uid) if row.tree_uid else None,
        "kind": row.kind,
        "taken": row.taken,
        "distance_m": row.distance_m,
        "differences": row.differences,
        "about": row.about,
        "reasons": row.reasons,
        "details": row.details,
    }


def as_csv(found: Iterable[IntakeMergeRow | Listed]) -> Iterator[bytes]:
    """The rows for a spreadsheet: one line each, the differences in words. Lengths in cm and m."""
    return csv_writer.write(HEADING, (_cells(row) for row in found))


def _cells(row: IntakeMergeRow | Listed) -> list[object]:
    about = row.about
    told = [f"{d['field']}: {_text(d['ours'])} -> {_text(d['file'])}" for d in row.differences]
    back = [f"{d['field']} ({d['standing']})" for d in row.differences if not d["taken"]]
    return [
        row.line, row.tree_uid and str(row.tree_uid), row.kind, row.taken,
        *(about.get(name) for name in ("key", "species", "dbh_cm", "lon", "lat", "street", "house_number")),
        row.distance_m, "; ".join(told), "; ".join(back), "; ".join(row.details),
    ]  # fmt: skip


def _text(value: Any) -> str:
    if value is None:
        return "unknown"
    if isinstance(value, list):
        return " to ".join("open" if part is None else f"{part:.9g}" for part in value)
    return f"{value:.4g}" if isinstance(value, float) else str(value)
