"""What of a plan is taken: the choices by kind, by line and by tree; and that no two things end with one key."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from inventory.intake.merge import keys
from inventory.intake.merge.choices import Choices
from inventory.intake.merge.differ import CONFLICT, FREE, KEPT, SYSTEMATIC, Differences
from inventory.intake.merge.standing import Held
from inventory.intake.table import Bools, Ints
from inventory.models import Tree
from inventory.models.intake_trial import KINDS

if TYPE_CHECKING:
    from inventory.intake.merge.plan import Plan

_AMBIGUOUS, _APPEARED = KINDS.index("ambiguous"), KINDS.index("appeared")


def decide(plan: "Plan", choices: Choices) -> None:
    """Set what is taken. Changes `plan`."""
    single = _of_rows(plan, choices)
    plan.taken = _fields(plan.trees, choices, single)
    plan.sites_taken = _fields(plan.sites, choices, single)
    plan.rows_taken = np.zeros(len(plan.kinds), bool)
    for name in ("appeared", "gone"):
        rows = plan.of_kind(name)
        plan.rows_taken[rows] = _over(np.full(len(rows), choices.kinds[name]), single[rows])
    asked = _of_trees(plan.both.trees, choices)
    vanished = np.array([asked.get(place, -1) for place in plan.vanished.tolist()], np.int64)
    plan.vanished_taken = _over(np.full(len(plan.vanished), choices.kinds["vanished"]), vanished)
    _one_key_each(plan, plan.trees, plan.both.trees, plan.taken, ~plan.both.facts.is_state("vacant"))
    _one_key_each(plan, plan.sites, plan.both.vacant, plan.sites_taken, plan.both.facts.is_state("vacant"))


def _over(by_kind: Bools, single: Ints) -> Bools:
    """The choice of the kind, and over it the single one (1 file, 0 ours, -1 none)."""
    return np.asarray(np.where(single >= 0, single == 1, by_kind))


def _of_rows(plan: "Plan", choices: Choices) -> Ints:
    """The single choice of each row, by its line or by the tree that it is."""
    found = np.full(len(plan.kinds), -1, np.int64)
    place = {line: row for row, line in enumerate(plan.both.facts.table.lines.tolist())} if choices.lines else {}
    asked = _of_trees(plan.both.trees, choices)
    if asked:
        rows = np.flatnonzero(plan.matching.tree >= 0)
        found[rows] = [asked.get(tree, -1) for tree in plan.matching.tree[rows].tolist()]
    for line, file in choices.lines.items():
        if line in place:
            found[place[line]] = int(file)
    return found


def _of_trees(trees: Held, choices: Choices) -> dict[int, int]:
    """Place of a tree -> its single choice."""
    if not choices.trees:
        return {}
    ids = trees.whole["id"]
    known = Tree.objects.filter(uid__in=list(choices.trees)).values_list("uid", "id")
    return {int(np.searchsorted(ids, pk)): int(choices.trees[str(uid)]) for uid, pk in known}


def _fields(found: Differences, choices: Choices, single: Ints) -> dict[str, Bools]:
    alone = single[found.rows]
    taken = {}
    for name, differs in found.differs.items():
        free = choices.kinds["moved" if name == "location" else "changed"]
        by_standing = np.zeros(4, bool)
        by_standing[[FREE, CONFLICT, KEPT, SYSTEMATIC]] = [
            free, choices.kinds["conflict"], choices.kinds["kept"], choices.kinds["systematic"],
        ]  # fmt: skip
        taken[name] = differs & _over(by_standing[found.stands[name]], alone)
    return taken


def _one_key_each(plan: "Plan", found: Differences, held: Held, taken: dict[str, Bools], which: Bools) -> None:
    """Keep the old key where the new one stays another's; an appeared row whose key is taken is told as unclear."""
    key = plan.both.facts.table.texts["key"]
    new = np.flatnonzero((plan.kinds == _APPEARED) & plan.rows_taken & key.filled() & which)
    _repeated(plan, new, found, taken)
    holder = keys.holders(held, key.values)
    while True:
        pairs = np.flatnonzero(taken["key"])
        leaving = np.zeros(len(held), bool)
        leaving[found.held[pairs]] = True
        blocked = _blocked(holder[key.codes[found.rows[pairs]]], leaving)
        if not blocked.any():
            break
        taken["key"][pairs[blocked]] = False
        found.stands["key"][pairs[blocked]] = KEPT
    new = new[plan.kinds[new] == _APPEARED]
    words = "its key {0} is here that of another tree that is not among the rows under that key"
    _unclear(plan, new[_blocked(holder[key.codes[new]], leaving)], words)


def _blocked(holder: Ints, leaving: Bools) -> Bools:
    """Whose new key is held by a thing that does not give it up."""
    return np.asarray((holder >= 0) & ~leaving[np.maximum(holder, 0)]) if len(leaving) else np.zeros(len(holder), bool)


def _repeated(plan: "Plan", new: Ints, found: Differences, taken: dict[str, Bools]) -> None:
    """A key that several rows would bring in goes to none of them."""
    key = plan.both.facts.table.texts["key"]
    often = keys.times(key, plan.both.single)
    twice = taken["key"] & (often[key.codes[found.rows]] > 1)
    taken["key"] = taken["key"] & ~twice
    found.stands["key"][twice] = KEPT
    _unclear(plan, new[often[key.codes[new]] > 1], "its key {0} stands on several rows of the file that are new here")


def _unclear(plan: "Plan", rows: Iterable[int] | Ints, words: str) -> None:
    for row in np.asarray(rows).tolist():
        plan.matching.unclear[row] = words.format(plan.both.facts.table.texts["key"].at(row))
        plan.kinds[row] = _AMBIGUOUS
        plan.rows_taken[row] = False
