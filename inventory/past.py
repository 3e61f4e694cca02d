"""The attributed past of a tree: who, when, why, and what changed, field by field, across the history tables.

Each kind of row that hangs on a tree is a `Source`; the doors put them together (api/rest/history.py).
"""

import json
import re
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.db import connection, models

from inventory.models import Site, Species, Tree, Zone
from inventory.people.models import User

# Book-keeping that says nothing to a reader.
HIDDEN: Final = frozenset({"id", "uid", "version", "tree_id", "content_sha256", "received_at"})
_OWN: Final = re.compile(r"pgh_\w+")


@dataclass(frozen=True)
class Source:
    """A history table whose rows hang on a tree: `of_tree` is the SQL that says which, over `p` and %(tree)s."""

    noun: str
    table: str
    of_tree: str = "p.tree_id = %(tree)s"


TREE_SOURCES: Final = (
    Source("tree", "tree_past", "p.pgh_obj_id = %(tree)s"),
    Source("site", "site_past", "p.pgh_obj_id = (SELECT site_id FROM tree WHERE id = %(tree)s)"),
    Source(
        "measurement",
        "measurement_past",
        "p.pgh_obj_id IN (SELECT id FROM measurement WHERE tree_id = %(tree)s)",
    ),
    Source("support", "support_past", "p.pgh_obj_id IN (SELECT id FROM support WHERE tree_id = %(tree)s)"),
    Source("photo", "attachment_past", "p.pgh_obj_id IN (SELECT id FROM attachment WHERE tree_id = %(tree)s)"),
)
_NAMED: Final[dict[str, tuple[type[models.Model], str]]] = {
    "species_id": (Species, "botanical_name"),
    "zone_id": (Zone, "code"),
    "site_id": (Site, "uid"),
}


@dataclass(frozen=True)
class FieldChange:
    """One field: its value before (None: nothing was there) and after."""

    field: str
    before: Any
    after: Any


@dataclass(frozen=True)
class RowChange:
    """What an act did to one row: `insert` or `update`."""

    noun: str
    uid: str | None
    action: str
    fields: tuple[FieldChange, ...]


@dataclass
class Act:
    """One act: when, by whom (None: the service itself), why, from which request, and what it changed."""

    key: uuid.UUID
    at: datetime
    number: int  # tells the acts of one instant apart
    user_id: int | None
    who: str
    why: str
    request: str
    rows: list[RowChange] = field(default_factory=list)


@dataclass
class _Kept:
    """A row as an act left it, and as it was before the act (None: the act made it)."""

    noun: str
    at: datetime
    act: uuid.UUID
    about: dict[str, Any]
    before: dict[str, Any] | None
    now: dict[str, Any]


def of_tree(tree: Tree, sources: Sequence[Source] = TREE_SOURCES) -> list[Act]:
    """Every act that touched a tree or what hangs on it, the newest first; five queries at most.

    History is read by the keys of the rows that there are (the only way its tables are indexed): of a row that was
    taken away again, which only undoing a load does, nothing is told here.
    """
    rows = _rows(tree, sources)
    people = _people(rows)
    names = _names(rows)
    acts: dict[uuid.UUID, Act] = {}
    for row in rows:
        if row.act not in acts:
            acts[row.act] = _act(row, people)
        changes = _changes(row.before, row.now, names)
        if changes:
            action = "insert" if row.before is None else "update"
            acts[row.act].rows.append(RowChange(row.noun, row.now.get("uid"), action, changes))
    return [act for act in acts.values() if act.rows]


def _act(row: _Kept, people: dict[int, str]) -> Act:
    about = row.about
    user = about.get("user")
    who = people.get(user, "") if user is not None else ""
    return Act(row.act, row.at, about.get("number", 0), user, who, about.get("why", ""), about.get("request", ""))


def _people(rows: Iterable[_Kept]) -> dict[int, str]:
    keys = {row.about["user"] for row in rows if row.about.get("user") is not None}
    return dict(User.objects.filter(pk__in=keys).values_list("pk", "name")) if keys else {}


def _rows(tree: Tree, sources: Sequence[Source]) -> list[_Kept]:
    """Every row that an act left changed, the newest act first; several changes of a row by one act are one."""
    parts = " UNION ALL ".join(
        f"SELECT '{one.noun}' AS noun, p.pgh_created_at, p.pgh_context_id, p.pgh_id, p.pgh_obj_id,"
        " to_jsonb(p) AS now, lag(to_jsonb(p)) OVER (PARTITION BY p.pgh_obj_id ORDER BY p.pgh_id) AS before"
        f" FROM {one.table} p WHERE {one.of_tree}"
        for one in sources
    )
    found: dict[tuple[uuid.UUID, str, int], _Kept] = {}
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT h.noun, h.pgh_created_at, h.pgh_context_id, c.metadata, h.before, h.now, h.pgh_obj_id"
            f" FROM ({parts}) h JOIN pghistory_context c ON c.id = h.pgh_context_id"
            " ORDER BY h.pgh_created_at DESC, (c.metadata->>'number')::bigint DESC NULLS LAST,"
            " h.pgh_context_id, h.noun DESC, h.pgh_id",
            {"tree": tree.pk},
        )
        for noun, at, act, *parsed, key in cursor.fetchall():
            about, before, now = (json.loads(part) if isinstance(part, str) else part for part in parsed)
            found.setdefault((act, noun, key), _Kept(noun, at, act, about, before, now)).now = now
    return list(found.values())


def _changes(
    before: dict[str, Any] | None, now: dict[str, Any], names: dict[str, dict[int, str]]
) -> tuple[FieldChange, ...]:
    old = before or {}
    found = []
    for name in sorted(now):
        if name in HIDDEN or _OWN.match(name):
            continue
        was, is_now = _named(name, old.get(name), names), _named(name, now.get(name), names)
        if was != is_now and not (before is None and is_now == ""):
            found.append(FieldChange(name.removesuffix("_id"), was, is_now))
    return tuple(found)


def _named(name: str, value: Any, names: dict[str, dict[int, str]]) -> Any:
    return names[name].get(value, value) if name in names and isinstance(value, int) else value


def _names(rows: Iterable[_Kept]) -> dict[str, dict[int, str]]:
    """What the keys in the rows are called: column -> key -> name, one query a column that occurs."""
    found: dict[str, dict[int, str]] = {}
    seen = [part for row in rows for part in (row.before, row.now) if part]
    for name, (model, label) in _NAMED.items():
        keys = {part[name] for part in seen if part.get(name) is not None}
        if keys:
            pairs = model._default_manager.filter(pk__in=keys).values_list("pk", label)
            found[name] = {key: str(text) for key, text in pairs}
    return found
