"""Why nothing can be planned: limits and groups of must-trees of which no one can be left out, as data for words.

A deletion filter: leave out one member after the other, keep out what the conflict does not need. The result is
irreducible, not necessarily the smallest. Only trees that must be worked on, and districts' minima, can conflict.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from . import core
from .problem import Bools, Floats, Ints, Program
from .solve import Progress, silent

KINDS: Final = ("money", "hours", "least")
PROOF: Final = core.Allowance(gap=1.0, nodes=20_000, looks=50_000)


@dataclass(frozen=True)
class Need:
    """A limit of the conflict: `kind` (money, hours, least) and its row; available, and the least that is needed.

    `needed` is what the groups of the conflict use of this row when they spare it most, other limits left aside; for
    a minimum, what it asks, against the most that could be spent.
    """

    kind: str
    row: int
    needed: float
    available: float


@dataclass(frozen=True)
class Group:
    """Must-trees of one name that are part of the conflict: its number, how many, and which trees."""

    number: int
    count: int
    trees: Ints


@dataclass(frozen=True)
class Conflict:
    """Limits and groups that cannot all be kept; each is needed for that where `irreducible`.

    `together`: rows of one kind as one (row -1), where the conflict has several: a tree that may wait for another
    quarter needs nothing of either alone. `without_work`: must-trees that have no allowed work at all; those alone are
    then the conflict. `proven`: whether every question was answered; where not, a member may be superfluous.
    """

    needs: tuple[Need, ...]
    groups: tuple[Group, ...]
    without_work: Ints
    proven: bool = True
    together: tuple[Need, ...] = ()


def explain(program: Program, group_of: Ints, progress: Progress = silent) -> Conflict | None:
    """An irreducible conflict; None where the program can be kept. `group_of` (n): each tree's group, from 0.

    Groups are a caller's: class x work x due date reads well.
    """
    if len(program.without_work):
        return Conflict((), _groups(program.without_work, group_of), program.without_work)
    filtering = _Filter(program, group_of)
    if filtering.possible():
        return None
    members = filtering.members()
    for done, member in enumerate(members):
        progress(done, len(members), "explaining")
        filtering.try_without(member)
    return filtering.conflict()


def _groups(trees: Ints, group_of: Ints) -> tuple[Group, ...]:
    numbers = np.unique(group_of[trees]).tolist()
    found = [(number, trees[group_of[trees] == number]) for number in numbers]
    return tuple(Group(number, len(some), some) for number, some in found)


class _Filter:
    """What is still in: rows by kind, and groups of must-trees."""

    def __init__(self, program: Program, group_of: Ints) -> None:
        self.program, self.group_of = program, group_of
        limits = program.limits
        asked = (limits.least > 0) | (limits.least_share > 0)
        self.rows = {
            "money": np.ones(len(limits.money), bool),
            "hours": np.ones(len(limits.hours), bool),
            "least": asked,
        }
        self.groups = np.unique(group_of[program.must])
        self.proven = True

    def members(self) -> list[tuple[str, int]]:
        """Limits first, so that what is left out first is what says least; then groups."""
        rows = [(kind, int(row)) for kind in KINDS for row in np.flatnonzero(self.rows[kind])]
        return rows + [("group", int(number)) for number in self.groups]

    def try_without(self, member: tuple[str, int]) -> None:
        """Leave a member out for good if the rest still conflicts."""
        kind, number = member
        before = self.groups
        if kind == "group":
            self.groups = before[before != number]
        else:
            self.rows[kind][number] = False
        if self.possible():
            self.groups = before
            if kind != "group":
                self.rows[kind][number] = True

    def possible(self) -> bool:
        """Whether what is in can be kept. An unanswered question counts as possible, and as not proven."""
        program = self.relaxed()
        if not (program.must.any() or program.limits.least.any() or program.limits.least_share.any()):
            return True
        whole = _undecided(program)
        if core.relax(program, whole).infeasible:
            return False
        found = core.solve(program, whole, PROOF)
        self.proven = self.proven and (found.complete or bool(len(found.picked)))
        return not found.infeasible

    def relaxed(self) -> Program:
        """The program with only what is in, and only the trees that matter for it; benefit counts for nothing."""
        program, limits = self.program, self.program.limits
        must = program.must & np.isin(self.group_of, self.groups)
        least_in = self.rows["least"]
        plenty = _plenty(program)
        relaxed = replace(
            program,
            must=must,
            columns=replace(program.columns, benefit=np.zeros(len(program.columns))),
            limits=replace(
                limits,
                money=np.where(self.rows["money"], limits.money, plenty[0]),
                hours=np.where(self.rows["hours"], limits.hours, plenty[1]),
                least=np.where(least_in, limits.least, 0.0),
                least_share=np.where(least_in, limits.least_share, 0.0),
            ),
        )
        useful = least_in & ((limits.least > 0) | (limits.least_share > 0))
        trees = must | np.append(useful, False)[limits.district]
        return relaxed.part(np.flatnonzero(trees))

    def conflict(self) -> Conflict:
        """What is left, with the figures of each row."""
        trees = np.flatnonzero(self.program.must & np.isin(self.group_of, self.groups))
        rows = {kind: np.flatnonzero(self.rows[kind]) for kind in KINDS}
        needs = tuple(
            _need(self.program, kind, rows[kind][[at]], trees) for kind in KINDS for at in range(len(rows[kind]))
        )
        together = tuple(_need(self.program, kind, some, trees) for kind, some in rows.items() if len(some) > 1)
        return Conflict(needs, _groups(trees, self.group_of), np.zeros(0, np.int64), self.proven, together)


def _undecided(program: Program) -> core.Core:
    """Everything is free: must-trees with one choice too, as nothing has been picked."""
    return core.Core(np.arange(len(program.columns)), np.zeros(0, np.int64), np.zeros(program.zones.cost.shape, bool))


def _plenty(program: Program) -> tuple[float, float]:
    """More money and hours than could ever be used."""
    money = float(program.columns.cost.sum() + program.zones.cost.sum())
    return money + 1.0, float(program.columns.hours.sum()) + 1.0


def _need(program: Program, kind: str, rows: Ints, trees: Ints) -> Need:
    """Rows of one kind, alone or several as one."""
    columns, limits = program.columns, program.limits
    name = int(rows[0]) if len(rows) == 1 else -1
    if kind == "least":
        most = _by_tree(program, columns.cost, np.ones(program.trees, bool), largest=True)
        needed = float((limits.least + limits.least_share * limits.money.sum())[rows].sum())
        return Need(kind, name, needed, float(most[np.isin(limits.district, rows)].sum()))
    own, used, there = (
        (columns.budget, columns.cost, limits.money) if kind == "money" else (columns.crew, columns.hours, limits.hours)
    )
    some = np.zeros(program.trees, bool)
    some[trees] = True
    least = _by_tree(program, np.where(np.isin(own, rows), used, 0.0), some, largest=False)
    return Need(kind, name, float(least.sum()), float(there[rows].sum()))


def _by_tree(program: Program, values: Floats, trees: Bools, *, largest: bool) -> Floats:
    """The largest or smallest value among the columns of each of the trees, 0 for others."""
    found = np.full(program.trees, -np.inf if largest else np.inf)
    (np.maximum if largest else np.minimum).at(found, program.columns.tree, values)
    kept: Floats = np.where(trees & np.isfinite(found), found, 0.0)
    return kept
