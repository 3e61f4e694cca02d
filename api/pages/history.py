"""The history of a tree in words: its acts as `inventory.past` reads them, each changed field said for a reader."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.utils import timezone

from api.pages import words
from assessments import past as assessed
from assessments.methods import catalogue
from assessments.works import past as ordered
from inventory import past, units
from inventory.models import Tree

SOURCES: Final = (*past.TREE_SOURCES, *assessed.SOURCES, *ordered.SOURCES)
# The order in which an act's rows are told: the subject first, then what hangs on it.
_ORDER: Final = {source.noun: place for place, source in enumerate(SOURCES)}
# Keys of other rows, derived columns and book-keeping: said elsewhere on the page, or of no use to a reader.
_HIDDEN: Final = frozenset(
    "tree site inspection finding target item order continues suggestion method_version inspected_on"  # noqa: SIM905
    " measured_by inspector reported_by verified_by recorded_by asked_by asked_at asked_on verified_at closed_by"
    " state_after intake_load dbh_height_m".split()
)
# In a new row these say no more than that nothing was said.
_NOTHING: Final = frozenset({"", "no", "none", "unknown"})
_LABELS: Final = {
    "dbh_cm": "stem diameter",
    "dbh_low_cm": "stem diameter from",
    "dbh_high_cm": "stem diameter to",
    "azimuth_deg": "direction (degrees)",
}


@dataclass(frozen=True)
class Change:
    """One field: its words before ('' where there was nothing) and after."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class RowChange:
    """What one act did to one row."""

    noun: str
    action: str
    changes: Sequence[Change]


@dataclass(frozen=True)
class Act:
    """One act: when, who ('' for the service itself), why, from which request, and what it changed."""

    when: datetime
    who: str
    why: str
    request: str
    rows: Sequence[RowChange]


def of_tree(tree: Tree, system: str) -> list[Act]:
    """Give the acts that touched a tree and what hangs on it, the newest first, in a fixed number of queries."""
    told = [Act(act.at, act.who, act.why, act.request, _rows(act.rows, system)) for act in past.of_tree(tree, SOURCES)]
    return [act for act in told if act.rows]


def _rows(rows: Sequence[past.RowChange], system: str) -> list[RowChange]:
    in_order = sorted(rows, key=lambda row: _ORDER[row.noun])
    told = [RowChange(words.say(row.noun), row.action, _changes(row, system)) for row in in_order]
    return [row for row in told if row.changes or row.action != "update"]


def _changes(row: past.RowChange, system: str) -> list[Change]:
    if row.action == "delete":
        return []
    kind = next((one.after for one in row.fields if one.field == "kind"), "")
    found = []
    for one in row.fields:
        before, after = (_said(one.field, value, str(kind), system) for value in (one.before, one.after))
        idle = row.action == "insert" and after.lower() in _NOTHING
        if one.field not in _HIDDEN and before != after and not idle:
            found.append(Change(_label(one.field), before, after))
    return found


def _label(name: str) -> str:
    if name in _LABELS:
        return _LABELS[name]
    for unit in ("_cm", "_m", "_percent"):
        name = name.removesuffix(unit)
    return words.say(name).lower()


def _said(name: str, value: Any, kind: str, system: str) -> str:
    """The words for one value of a column, as JSON holds it."""
    match value:
        case None | "" | []:
            return ""
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return _number(name, float(value), system)
        case list():
            return ", ".join(_said(name, entry, kind, system) for entry in value)
        case {"type": "Point", "coordinates": [longitude, latitude]}:
            return f"{latitude:.6f}, {longitude:.6f}"
        case dict():
            return ", ".join(words.measures(kind, value, system)) if name == "measures" else ""
    return _text(name, str(value))


def _number(name: str, value: float, system: str) -> str:
    if name.endswith("_cm"):
        return units.diameter(value, system)
    return units.length(value, system) if name.endswith("_m") else f"{value:g}"


def _text(name: str, value: str) -> str:
    if name.endswith("_at"):
        return timezone.localtime(datetime.fromisoformat(value)).strftime("%Y-%m-%d %H:%M")
    if name == "part":
        return words.part(value).lower()
    if name == "kind" and value in catalogue.KINDS:
        return words.finding_kind(value).lower()
    if value in words.WORDS:
        return words.say(value).lower()
    return value.replace("_", " ") if value.isidentifier() else value
