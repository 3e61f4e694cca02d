"""An answer of a calculation as the tables of a page: facts, nested facts, rows, courses over years, sentences."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from api.pages import names
from api.pages.names import figure, label

_SENTENCES: Final = ("notes", "reasons")
_LAST: Final = ("method", "version")
# What an answer is about stands with its facts, not folded away.
_UP_FRONT: Final = ("modulus", "largest_loss", "critical_gust", "threshold", "mechanics")
# The page says this itself, once.
_ADVICE: Final = "Advice to a qualified"


@dataclass
class Table:
    """A table: its caption, its headings, its rows as text."""

    caption: str
    headings: list[str]
    rows: list[list[str]]


@dataclass
class Shown:
    """What a page shows of an answer."""

    facts: list[tuple[str, str]] = field(default_factory=list)
    groups: list[tuple[str, list[tuple[str, str]]]] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    method: str = ""


def show(answer: Mapping[str, Any]) -> Shown:
    """Lay an answer out."""
    shown = Shown(method=f"{answer['method']} version {answer['version']}")
    shown.notes, shown.reasons = (list(answer.get(name, ())) for name in _SENTENCES)
    shown.notes = [note for note in shown.notes if not note.startswith(_ADVICE)]
    for name, value in answer.items():
        if name in _SENTENCES or name in _LAST or value is None:
            continue
        if isinstance(value, Mapping):
            _nested(shown, name, value)
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            shown.tables.append(_rows(label(name), value))
        elif value != []:
            shown.facts.append((label(name), _said(value)))
    return shown


def _nested(shown: Shown, name: str, value: Mapping[str, Any]) -> None:
    flat = dict(_flat(value))
    lists = {path: one for path, one in flat.items() if isinstance(one, list)}
    if ("years",) in lists and len({len(one) for one in lists.values()}) == 1:
        headings = [names.path(path) for path in lists]
        rows = [[figure(cell) for cell in row] for row in zip(*lists.values(), strict=True)]
        shown.tables.append(Table(label(name), headings, rows))
    elif flat and all(isinstance(one, Mapping) and "applies" in one for one in value.values()):
        shown.tables.append(_rows(label(name), [{"rule": label(key), **one} for key, one in value.items()]))
    else:
        known = [(path, _said(one)) for path, one in flat.items() if one is not None]
        if name in _UP_FRONT:
            shown.facts += [(names.path((name, *path)), one) for path, one in known]
        else:
            shown.groups.append((label(name), [(names.path(path), one) for path, one in known]))


def _flat(value: Mapping[str, Any], before: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], Any]]:
    found: list[tuple[tuple[str, ...], Any]] = []
    for name, one in value.items():
        found += _flat(one, (*before, name)) if isinstance(one, Mapping) else [((*before, name), one)]
    return found


def _said(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(figure(one) for one in value) or "none"
    return figure(value)


def _rows(caption: str, values: list[Mapping[str, Any]]) -> Table:
    """Rows of flat or nearly flat objects: every column that any of them has."""
    flat = [dict(_flat(value)) for value in values]
    columns = list(dict.fromkeys(path for row in flat for path in row))
    rows = [["" if row.get(path) is None else _said(row[path]) for path in columns] for row in flat]
    return Table(caption, [names.path(path) for path in columns], rows)
