"""The attributed history of a tree: its rows through time, told as acts - who, when, why, what changed.

Each noun's history is read by the keys of its rows, the only way the history tables are indexed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.contrib.gis.geos import Point
from django.db import models
from pghistory.models import Context

from api.pages import units, words
from assessments.models import EmergencyAction, Finding, Inspection, Rating, RequiredCheck, Target
from assessments.works.models import ItemReport, OrderItem, Verification
from inventory.models import IntakeLoad, Measurement, Site, Species, Support, Tree, Zone
from inventory.people.models import Organisation, User

# What says nothing to a reader: keys, derived columns, the book-keeping of the history itself.
_HIDDEN: Final = frozenset(
    ["id", "uid", "version", "content_sha256", "received_at", "tree", "inspection", "finding", "target", "item", "order", "continues", "suggestion", "method_version", "inspected_on", "measured_by", "inspector", "reported_by", "verified_by", "recorded_by", "asked_by", "asked_at", "verified_at"]
)
_NAMED: Final[tuple[type[models.Model], ...]] = (Species, Zone, Site, User, Organisation, IntakeLoad)
MOST_ROWS: Final = 600


@dataclass(frozen=True)
class Change:
    """One field of one row: its words before ('' where there was nothing) and after."""

    label: str
    before: str
    after: str


@dataclass
class RowChange:
    """What one act did to one row."""

    noun: str
    new: bool
    gone: bool
    changes: list[Change]


@dataclass
class Act:
    """One act of one author: `who` is '' for the service itself."""

    when: datetime
    who: str
    why: str
    request: str
    rows: list[RowChange] = field(default_factory=list)


def of_tree(tree: Tree, system: str) -> list[Act]:
    """Give the acts that touched a tree and what hangs on it, the newest first, in a fixed number of queries."""
    rows = [row for noun, keys in _nouns(tree) for row in _past(noun, keys)]
    rows.sort(key=lambda row: (row.pgh_created_at, row.pgh_id), reverse=True)
    rows = rows[:MOST_ROWS]
    names = _names(rows)
    before = _before(rows)
    contexts = Context.objects.in_bulk({row.pgh_context_id for row in rows})
    people = _people(contexts.values())
    acts: dict[Any, Act] = {}
    for row in rows:
        context = contexts[row.pgh_context_id]
        act = acts.setdefault(context.pk, _act(row, context.metadata, people))
        act.rows.append(_row_change(row, before.get(_row_key(row)), names, system))
    for act in acts.values():
        act.rows.reverse()
        act.rows[:] = [row for row in act.rows if row.changes or row.new or row.gone]
    return [act for act in acts.values() if act.rows]


def _nouns(tree: Tree) -> Iterable[tuple[type[models.Model], Sequence[int]]]:
    """The rows that belong to the tree, by noun."""

    def keys(noun: type[models.Model], **scope: Any) -> list[int]:
        return list(noun._default_manager.filter(**scope).values_list("pk", flat=True))

    inspections = keys(Inspection, tree=tree)
    yield Tree, [tree.pk]
    yield Site, [tree.site_id] if tree.site_id else []
    yield Inspection, inspections
    for noun in (Measurement, Support, RequiredCheck):
        yield noun, keys(noun, tree=tree)
    for noun in (Finding, Target, Rating, EmergencyAction):
        yield noun, keys(noun, inspection__in=inspections)
    items = keys(OrderItem, tree=tree)
    yield OrderItem, items
    for noun in (ItemReport, Verification):
        yield noun, keys(noun, item__in=items)


def _past(noun: type[models.Model], keys: Sequence[int]) -> list[Any]:
    if not keys:
        return []
    past: Any = noun._meta.get_field("past").related_model
    return list(past.objects.filter(pgh_obj_id__in=keys).order_by("-pgh_id")[:MOST_ROWS])


def _row_key(row: Any) -> tuple[str, int]:
    return row._meta.db_table, row.pgh_id


def _before(rows: Sequence[Any]) -> dict[tuple[str, int], Any]:
    """For each row of history the one before it of the same subject."""
    latest: dict[tuple[str, int], Any] = {}
    before: dict[tuple[str, int], Any] = {}
    for row in reversed(rows):
        subject = (row._meta.db_table, row.pgh_obj_id)
        if subject in latest:
            before[_row_key(row)] = latest[subject]
        latest[subject] = row
    return before


def _people(contexts: Iterable[Any]) -> dict[int, str]:
    keys = {context.metadata.get("user") for context in contexts} - {None}
    return dict(User.objects.filter(pk__in=keys).values_list("pk", "name"))


def _act(row: Any, metadata: dict[str, Any], people: dict[int, str]) -> Act:
    user = metadata.get("user")
    who = "" if user is None else people.get(user, f"person {user}")
    return Act(row.pgh_created_at, who, str(metadata.get("why", "")), str(metadata.get("request", "")))


def _fields(row: Any) -> "list[models.Field[Any, Any]]":
    return [one for one in row._meta.local_fields if not one.name.startswith("pgh_") and one.name not in _HIDDEN]


def _names(rows: Sequence[Any]) -> dict[tuple[type[models.Model], int], str]:
    """The names of the species, zones, people ... that the rows refer to, one query a noun."""
    wanted: dict[type[models.Model], set[int]] = {}
    for row in rows:
        for one in _fields(row):
            value = getattr(row, one.attname)
            if value is not None and one.related_model in _NAMED:
                wanted.setdefault(one.related_model, set()).add(value)
    return {
        (noun, key): str(found)
        for noun, keys in wanted.items()
        for key, found in noun._default_manager.in_bulk(keys).items()
    }


def _row_change(row: Any, before: Any | None, names: dict[Any, str], system: str) -> RowChange:
    changes = []
    for one in _fields(row):
        old = "" if before is None else _said(one, getattr(before, one.attname), names, system)
        new = _said(one, getattr(row, one.attname), names, system)
        if old != new:
            changes.append(Change(_label(one.name), old, new))
    noun = row._meta.get_field("pgh_obj").related_model._meta.verbose_name
    gone = row.pgh_label.startswith("keep_delete") or "delete" in row.pgh_label
    new_row = "insert" in row.pgh_label
    return RowChange(str(noun).capitalize(), new_row, gone, [] if gone else changes)


def _label(name: str) -> str:
    for unit in ("_cm", "_m", "_deg", "_percent"):
        name = name.removesuffix(unit)
    return {"dbh": "Stem diameter", "dbh_low": "Stem diameter from", "dbh_high": "Stem diameter to"}.get(
        name, words.say(name)
    )


def _said(one: "models.Field[Any, Any]", value: Any, names: dict[Any, str], system: str) -> str:
    if value is None or value == "" or value == {}:
        return ""
    if one.related_model is not None:
        return names.get((one.related_model, value), f"number {value}")
    if isinstance(value, Point):
        return f"{value.y:.6f}, {value.x:.6f}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, dict):
        return ", ".join(f"{words.say(k).lower()} {v}" for k, v in value.items())
    return _sized(one.name, value, system)


def _sized(name: str, value: Any, system: str) -> str:
    if isinstance(value, list):
        return ", ".join(_sized(name, entry, system) for entry in value)
    if isinstance(value, float) and name.endswith("_cm"):
        return units.diameter(value, system)
    if isinstance(value, float) and name.endswith("_m"):
        return units.length(value, system)
    if isinstance(value, float):
        return f"{value:g}"
    return words.say(value) if isinstance(value, str) and "_" in value else str(value)
