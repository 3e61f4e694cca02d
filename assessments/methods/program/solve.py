"""From prices to a plan: settle what the bound settles, give the rest to the solver, prove the gap to the best."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from . import core
from .prices import Prices, Reply, descend, reply
from .problem import Bools, Floats, Ints, Program

METHOD: Final = "yearly_program"
VERSION: Final = 1

Progress = Callable[[int, int | None, str], None]
"""Called between steps with (done, total, what); may raise to cancel."""


def silent(done: int, total: int | None, what: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Effort:
    """How hard to try, in work and not in time. `gap` is the relative gap at which it is enough."""

    gap: float = 1e-4
    steps: int = 300
    rounds: int = 6
    core_trees: int = 1_500
    whole_columns: int = 20_000
    nodes: int = 2_000


@dataclass(frozen=True)
class Plan:
    """The picked columns with what is proven of them.

    `benefit` <= any plan's benefit <= `bound`; `gap` = (bound - benefit) / bound. `prices`: what one more unit of each
    limit is about worth. `feasible`: False where no plan keeps the limits, or none was found (`picked` is then empty).
    """

    picked: Ints
    benefit: float
    bound: float
    prices: Prices
    feasible: bool
    proven_infeasible: bool = False
    rounds: int = 0
    settled_trees: int = 0
    notes: tuple[str, ...] = field(default=())

    @property
    def gap(self) -> float:
        """The proven relative gap, 0 where nothing could be gained at all."""
        return max(0.0, (self.bound - self.benefit) / self.bound) if self.bound > 0 else 0.0


def solve(
    program: Program,
    effort: Effort | None = None,
    *,
    start: Ints | None = None,
    prices: Prices | None = None,
    progress: Progress = silent,
) -> Plan:
    """Solve a program: the largest benefit that its limits allow, with a proven gap.

    `start`: a plan to begin from (kept where nothing better is found, if it keeps the limits); `prices`: of a like
    program. The same input gives the same plan. Use conflict.explain where it is not feasible.
    """
    effort = effort or Effort()
    if len(program.without_work):
        return _none(program, "a tree that must be worked on has no work that is allowed")
    kept = start if start is not None and keeps(program, start) else None
    floor = float(program.columns.benefit[kept].sum()) if kept is not None else 0.0
    progress(0, effort.rounds, "pricing")
    best_prices, answer = descend(program, prices or Prices.none(program), floor, effort.steps)
    search = _Search(program, effort, best_prices, answer, kept, floor)
    for done in range(effort.rounds):
        progress(done, effort.rounds, "choosing")
        if search.round():
            break
    return search.plan()


def keeps(program: Program, picked: Ints) -> bool:
    """Whether picked columns are a plan: one a tree, each tree that must be among them, every limit kept."""
    trees = program.columns.tree[picked]
    if len(np.unique(trees)) != len(trees) or not np.isin(np.flatnonzero(program.must), trees).all():
        return False
    money, hours = program.used(picked)
    limits = program.limits
    spent = program.spent(picked)
    least = limits.least + limits.least_share * program.columns.cost[picked].sum()
    return bool(_at_most(money, limits.money) and _at_most(hours, limits.hours) and _at_most(least, spent))


def _at_most(used: Floats, limit: Floats) -> bool:
    """Up to rounding of sums of money and hours."""
    return bool((used <= limit + 1e-6 * np.maximum(1.0, np.abs(limit))).all())


def _none(program: Program, note: str) -> Plan:
    nothing = np.zeros(0, np.int64)
    return Plan(nothing, 0.0, 0.0, Prices.none(program), feasible=False, proven_infeasible=True, notes=(note,))


class _Search:
    """One search: the best prices and plan so far, and a core that grows from round to round."""

    def __init__(
        self, program: Program, effort: Effort, prices: Prices, answer: Reply, kept: Ints | None, floor: float
    ) -> None:
        self.program, self.effort = program, effort
        self.prices, self.answer = prices, answer
        self.bound = answer.bound
        self.picked, self.benefit = kept, floor if kept is not None else -np.inf
        self.size = effort.core_trees
        self.rounds = 0
        self.settled = 0
        self.impossible = False

    def round(self) -> bool:
        """One round; whether it is enough."""
        self.rounds += 1
        whole = len(self.program.columns) <= self.effort.whole_columns or self.size >= self.program.trees
        free = np.ones(self.program.trees, bool) if whole else self._undecided()
        self.settled = int((~free).sum())
        self._sharpen(free)
        part = core.carve(self.program, self.answer.picked, free)
        found = core.solve(
            self.program, part, nodes=self.effort.nodes, gap=self._part_gap(part, whole), start=self.picked
        )
        self._take(part, found)
        if whole:
            self._whole(found)
            return True
        self.size = min(self.program.trees, self.size * (4 if found.infeasible else 2))
        return self._gap() <= self.effort.gap

    def _undecided(self) -> Bools:
        """The trees whose first and second choice are closest: those are free."""
        order = np.argsort(self.answer.regret, kind="stable")
        free = np.zeros(self.program.trees, bool)
        free[order[: self.size]] = True
        return free

    def _sharpen(self, free: Bools) -> None:
        """Better prices from the relaxation of the core, kept only where they lower the bound of the whole."""
        for _ in range(3):
            part = core.carve(self.program, self.answer.picked, free)
            found = core.relax(self.program, part)
            if found.prices is None:
                return
            answer = reply(self.program, found.prices)
            better = answer.bound < self.bound * (1 - 1e-7)
            if answer.bound < self.bound:
                self.prices, self.answer, self.bound = found.prices, answer, answer.bound
            if not better:
                return

    def _part_gap(self, part: core.Core, whole: bool) -> float:
        """The gap asked of the core, so that the gap of the whole can be reached."""
        if whole:
            return self.effort.gap / 4 if len(self.program.columns) > 2_000 else 0.0
        rest = float(self.program.columns.benefit[part.settled].sum())
        inside = max(self.bound - rest, 1e-300)
        return float(np.clip(self.effort.gap / 4 * self.bound / inside, 1e-6, 0.05))

    def _take(self, part: core.Core, found: core.Found) -> None:
        """Keep what was found where it is a plan and better."""
        if not len(found.picked) and not len(part.settled):
            found_plan = found.picked
        else:
            found_plan = np.sort(np.concatenate([part.settled, found.picked]))
        if found.infeasible or not keeps(self.program, found_plan):
            return
        benefit = float(self.program.columns.benefit[found_plan].sum())
        if benefit > self.benefit:
            self.picked, self.benefit = found_plan, benefit

    def _whole(self, found: core.Found) -> None:
        """What the solver proves of the whole is proven of the program."""
        self.impossible = found.infeasible
        if np.isfinite(found.bound):
            self.bound = min(self.bound, found.bound)

    def _gap(self) -> float:
        if self.picked is None:
            return np.inf
        return (self.bound - self.benefit) / self.bound if self.bound > 0 else 0.0

    def plan(self) -> Plan:
        """The best plan that was found, or that there is none."""
        if self.picked is None:
            nothing = np.zeros(0, np.int64)
            return Plan(nothing, 0.0, 0.0, self.prices, False, self.impossible, self.rounds, self.settled)
        bound = max(self.bound, self.benefit)
        return Plan(self.picked, self.benefit, bound, self.prices, True, False, self.rounds, self.settled)
