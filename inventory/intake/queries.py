"""Reads about loads: which there were, and why rows were refused or warned of."""

import uuid
from collections.abc import Collection
from dataclasses import dataclass

from django.db import connection
from django.db.models import QuerySet

from inventory.intake import mapping
from inventory.intake.checks import BY_NAME
from inventory.models import IntakeLoad, IntakeVerdict
from inventory.problems import Missing
from inventory.statements import statement


@dataclass(frozen=True)
class ReasonCount:
    """One reason of a load: its check, how many rows, and the first few as (line, what was said)."""

    name: str
    severity: str
    title: str
    rows: int
    examples: list[tuple[int, str]]


def loads() -> QuerySet[IntakeLoad]:
    """All loads, the newest first."""
    return IntakeLoad.objects.select_related("loaded_by", "undone_by", "merge")


def load(uid: uuid.UUID) -> IntakeLoad:
    """One load. Raises Missing."""
    found = loads().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no load {uid}")
    return found


def verdict_counts(of: IntakeLoad, examples: int = 3) -> list[ReasonCount]:
    """The reasons of a load in the order of the table of checks; notes are counted but have no rows of their own."""
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "verdict_examples"), {"load": of.pk, "most": examples})
        rows = cursor.fetchall()
    said: dict[str, list[tuple[int, str]]] = {}
    for reason, line, detail in rows:
        said.setdefault(reason, []).append((line, detail))
    counted = of.counts.get("reasons", {})
    return [
        ReasonCount(name, check.severity, check.title, counted[name], said.get(name, []))
        for name, check in BY_NAME.items()
        if counted.get(name)
    ]


def columns(of: IntakeLoad) -> list[str]:
    """The columns of the file in their order as the mapping has them, then those that it left out."""
    first = IntakeVerdict.objects.filter(load=of).order_by("line").first()
    return in_order(of.mapping, first.cells if first else {})


def in_order(mapped_by: str, cells: Collection[str]) -> list[str]:
    """The names of the cells: first those of a mapping (TOML) in its order, then the others."""
    mapped = [column.heading for column in mapping.parse(mapped_by).columns]
    there = list(cells)
    return [name for name in mapped if name in there] + [name for name in there if name not in mapped]


def verdicts(of: IntakeLoad, verdict: str = "", reason: str = "") -> QuerySet[IntakeVerdict]:
    """The rows of a load that were refused or warned of, by line; of one verdict or reason where given."""
    rows = IntakeVerdict.objects.filter(load=of).order_by("line")
    if verdict:
        rows = rows.filter(verdict=verdict)
    return rows.filter(reasons__contains=[reason]) if reason else rows
