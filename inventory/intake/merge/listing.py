"""The rows of a plan that are not simply the same, told one by one: what differs, from what to what, what is done."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db import connection
from psycopg.types.json import Jsonb

from inventory.intake.merge.differ import STANDINGS, Differences
from inventory.intake.merge.standing import Held
from inventory.intake.progress import Progress
from inventory.intake.table import Bools, Ints, Texts
from inventory.models import IntakeMerge, Tree
from inventory.models.intake_trial import KINDS

if TYPE_CHECKING:
    from inventory.intake.merge.plan import Plan

ROWS_AT_ONCE = 20_000
_SAME, _REFUSED = KINDS.index("same"), KINDS.index("refused")
_COLUMNS = (
    "merge_id, line, tree_uid, kind, differing, standings, differences, distance_m, taken, about, reasons, details"
)
# Field of a merge -> text of a table, where both have it.
_TEXTS = {"key": "key", "species": "species", "state": "state", "note": "note", "street": "street",
          "house_number": "number", "place": "place", "growing_space": "space"}  # fmt: skip


@dataclass
class Listed:
    """One row of the file (or a tree that only we have: no line), as it is kept and shown."""

    line: int | None
    tree_uid: str | None
    kind: str
    taken: bool = False
    distance_m: float | None = None
    differing: list[str] = field(default_factory=list)
    standings: list[str] = field(default_factory=list)
    differences: list[dict[str, Any]] = field(default_factory=list)
    about: dict[str, Any] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    details: list[str] = field(default_factory=list)


def keep(made: IntakeMerge, plan: "Plan", progress: Progress) -> None:
    """Write the rows of a plan under a merge. Raises Cancelled."""
    total = int((plan.kinds != _SAME).sum()) + len(plan.vanished) + len(plan.only_ours)
    rows = listed(plan)
    with connection.cursor() as cursor, cursor.copy(f"COPY intake_merge_row ({_COLUMNS}) FROM STDIN") as copy:
        for number, row in enumerate(rows):
            copy.write_row((
                made.pk, row.line, row.tree_uid, row.kind, row.differing, row.standings, Jsonb(row.differences),
                row.distance_m, row.taken, Jsonb(row.about), row.reasons, row.details,
            ))  # fmt: skip
            if number % 10_000 == 0:
                progress(number, total, "keeping the rows")


def listed(plan: "Plan") -> Iterator[Listed]:
    """Every row that is not the same, in the order of the file; then the trees that only we have."""
    # The uids are asked for at once: no query can run while COPY does.
    return _listed(plan, _Lister(plan))


def _listed(plan: "Plan", lister: "_Lister") -> Iterator[Listed]:
    rows = np.flatnonzero(plan.kinds != _SAME)
    for start in range(0, len(rows), ROWS_AT_ONCE):
        yield from lister.rows(rows[start : start + ROWS_AT_ONCE])
    yield from lister.ours(plan.vanished, plan.vanished_taken, "vanished")
    yield from lister.ours(plan.only_ours, np.zeros(len(plan.only_ours), bool), "only_ours")


class _Lister:
    """Tells rows of a plan."""

    def __init__(self, plan: "Plan") -> None:
        self._plan, self._facts = plan, plan.both.facts
        self._of_tree = _places(plan.trees, len(plan.kinds))
        self._of_site = _places(plan.sites, len(plan.kinds))
        other = (plan.kinds != _SAME) & (plan.matching.tree >= 0)
        named = [*plan.matching.tree[other], *plan.vanished, *plan.only_ours]
        self._uids = _uids(plan.both.trees.whole["id"][np.array(named, np.int64)])

    def rows(self, rows: Ints) -> Iterator[Listed]:
        """The rows of the file, the refused ones with their reasons."""
        said = self._plan.examination.said(rows[self._plan.kinds[rows] == _REFUSED])
        for row in rows.tolist():
            yield self._row(row, said.get(row, ([], [])))

    def _row(self, row: int, said: tuple[list[str], list[str]]) -> Listed:
        plan = self._plan
        kind = KINDS[plan.kinds[row]]
        tree = int(plan.matching.tree[row])
        uid = self._uids.get(int(plan.both.trees.whole["id"][tree])) if tree >= 0 else None
        told = Listed(int(self._facts.table.lines[row]), uid, kind, bool(plan.rows_taken[row]), about=self._about(row))
        if kind == "refused":
            told.reasons, told.details = said
        elif kind == "ambiguous":
            told.reasons, told.details = ["ambiguous"], [plan.matching.unclear[row]]
        elif kind in ("gone", "returned"):
            ours = plan.both.trees.texts["state"].at(tree)
            told.differences = [_difference("state", ours, self._facts.state.at(row), "free", told.taken)]
            told.differing, told.standings = ["state"], ["free"]
        else:
            self._differences(row, told)
        return told

    def _about(self, row: int) -> dict[str, Any]:
        """What the file says of a row, enough to find it."""
        table = self._facts.table
        found: dict[str, Any] = {name: table.texts[text].at(row) for name, text in _TEXTS.items() if name != "note"}
        found["state"] = self._facts.state.at(row)
        found |= {name: _number(table.numbers[name][row]) for name in ("lon", "lat", "dbh_cm", "height_m", "crown_m")}
        return {name: value for name, value in found.items() if value not in ("", None)}

    def _differences(self, row: int, told: Listed) -> None:
        plan = self._plan
        for place, found, held, taken in (
            (self._of_tree[row], plan.trees, plan.both.trees, plan.taken),
            (self._of_site[row], plan.sites, plan.both.vacant, plan.sites_taken),
        ):
            if place < 0:
                continue
            told.distance_m = round(float(found.metres[place]), 2)
            for name, differs in found.differs.items():
                if differs[place]:
                    self._add(told, name, found, held, taken, int(place))

    def _add(
        self, told: Listed, name: str, found: Differences, held: Held, taken: dict[str, Bools], place: int
    ) -> None:
        ours = _value(name, held.texts, held.numbers, held.whole, int(found.held[place]))
        table = self._facts.table
        file = _value(name, table.texts, table.numbers, table.days, int(found.rows[place]))
        if name == "state":
            file = self._facts.state.at(int(found.rows[place]))
        standing = STANDINGS[found.stands[name][place]]
        told.differing.append(name)
        told.standings.append(standing)
        told.differences.append(_difference(name, ours, file, standing, bool(taken[name][place])))
        told.taken = told.taken or bool(taken[name][place])

    def ours(self, trees: Ints, taken: Bools, kind: str) -> Iterator[Listed]:
        """Trees that the file does not have."""
        held = self._plan.both.trees
        for tree, done in zip(trees.tolist(), taken.tolist(), strict=True):
            about: dict[str, Any] = {name: held.texts[text].at(tree) for name, text in _TEXTS.items() if name != "note"}
            about |= {name: _number(held.numbers[name][tree]) for name in ("lon", "lat", "dbh_cm")}
            uid = self._uids.get(int(held.whole["id"][tree]))
            yield Listed(None, uid, kind, done, about={n: v for n, v in about.items() if v not in ("", None)})


def _places(found: Differences, rows: int) -> Ints:
    """Of each row of the file its place among the pairs; -1 for none."""
    at = np.full(rows, -1, np.int64)
    at[found.rows] = np.arange(len(found))
    return at


def _uids(ids: Ints) -> dict[int, str]:
    found: dict[int, str] = {}
    for start in range(0, len(ids), ROWS_AT_ONCE):
        some = ids[start : start + ROWS_AT_ONCE].tolist()
        found |= {pk: str(uid) for pk, uid in Tree.objects.filter(pk__in=some).values_list("pk", "uid")}
    return found


def _difference(name: str, ours: Any, file: Any, standing: str, taken: bool) -> dict[str, Any]:
    return {"field": name, "ours": ours, "file": file, "standing": standing, "taken": taken}


def _value(name: str, texts: dict[str, Texts], numbers: dict[str, Any], days: dict[str, Ints], row: int) -> Any:
    """A field as JSON: a text, a number in SI, a class or a place as two numbers, days as ISO 8601."""
    if name in _TEXTS:
        return texts[_TEXTS[name]].at(row) or None
    if name == "location":
        return [float(numbers["lon"][row]), float(numbers["lat"][row])]
    if name == "planted":
        return _days(int(days["planted_from"][row]), int(days["planted_to"][row]))
    if name in ("dbh", "height", "crown"):
        unit = "cm" if name == "dbh" else "m"
        low, high = numbers.get(f"{name}_low_{unit}"), numbers.get(f"{name}_high_{unit}")
        value = _number(numbers[f"{name}_{unit}"][row])
        if value is None and low is not None and high is not None and not np.isnan(low[row]):
            return [_number(low[row]), _number(high[row])]
        return value
    return _number(numbers[name][row])


def _days(first: int, last: int) -> str | None:
    if first < 0:
        return None
    start, end = date.fromordinal(first).isoformat(), date.fromordinal(last).isoformat()
    return start if start == end else f"{start}/{end}"


def _number(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
