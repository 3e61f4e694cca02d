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
    """What an act did to one row: `insert`, `update` or `delete`."""

    noun: str
    uid: str | None
    action: str
    fields: tuple[FieldChange, ...]


@dataclass
class Act:
    """One act: when, by whom (None: the service itself), why, from which request, and what it changed."""

    key: uuid.UUID
    at: datetime
    user_id: int | None
    who: str
    why: str
    request: str
    rows: list[RowChange] = field(default_factory=list)


def of_tree(tree: Tree, sources: Sequence[Source] = TREE_SOURCES) -> list[Act]:
    """Every act that touched a tree or what hangs on it, the newest first; four to seven queries in all."""
    rows = _rows(tree, sources)
    people = dict(
        User.objects.filter(pk__in={about["user"] for *_, about in rows if about.get("user")}).values_list("pk", "name")
    )
    names = _names(rows)
    acts: dict[uuid.UUID, Act] = {}
    for noun, action, at, key, now, before, about in rows:
        user_id = about.get("user")
        who = people.get(user_id, "") if user_id else ""
        act = acts.setdefault(key, Act(key, at, user_id, who, about.get("why", ""), about.get("request", "")))
        act.rows.append(RowChange(noun, now.get("uid"), action, _changes(action, before, now, names)))
    return list(acts.values())


def _rows(tree: Tree, sources: Sequence[Source]) -> list[tuple[Any, ...]]:
    """(noun, label, at, act, row, row before, about) of every history row, the newest first."""
    parts = " UNION ALL ".join(
        f"SELECT '{one.noun}' AS noun, p.pgh_label, p.pgh_created_at, p.pgh_context_id, p.pgh_id, to_jsonb(p) AS now,"
        f" lag(to_jsonb(p)) OVER (PARTITION BY p.pgh_obj_id ORDER BY p.pgh_id) AS before"
        f" FROM {one.table} p WHERE {one.of_tree}"
        for one in sources
    )
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT h.noun, h.pgh_label, h.pgh_created_at, h.pgh_context_id, h.now, h.before, c.metadata"
            f" FROM ({parts}) h JOIN pghistory_context c ON c.id = h.pgh_context_id"
            " ORDER BY h.pgh_created_at DESC, h.pgh_context_id, h.noun DESC, h.pgh_id",
            {"tree": tree.pk},
        )
        return [(*row[:4], *(_parsed(part) for part in row[4:])) for row in cursor.fetchall()]


def _parsed(part: Any) -> Any:
    return json.loads(part) if isinstance(part, str) else part


def _changes(
    action: str, before: dict[str, Any] | None, now: dict[str, Any], names: dict[str, dict[int, str]]
) -> tuple[FieldChange, ...]:
    old = before or {} if action == "update" else now if action == "delete" else {}
    new = {} if action == "delete" else now
    found = []
    for name in sorted(now):
        if name in HIDDEN or _OWN.match(name):
            continue
        was, is_now = _named(name, old.get(name), names), _named(name, new.get(name), names)
        if was != is_now and not (action == "insert" and is_now in ("", None)):
            found.append(FieldChange(name.removesuffix("_id"), was, is_now))
    return tuple(found)


def _named(name: str, value: Any, names: dict[str, dict[int, str]]) -> Any:
    return names[name].get(value, value) if name in names and isinstance(value, int) else value


def _names(rows: Iterable[tuple[Any, ...]]) -> dict[str, dict[int, str]]:
    """What the keys in the rows are called: column -> key -> name, one query a column that occurs."""
    found: dict[str, dict[int, str]] = {}
    seen = [part for row in rows for part in (row[4], row[5]) if part]
    for name, (model, label) in _NAMED.items():
        keys = {part[name] for part in seen if part.get(name) is not None}
        if keys:
            pairs = model._default_manager.filter(pk__in=keys).values_list("pk", label)
            found[name] = {key: str(text) for key, text in pairs}
    return found
