"""From prices to a plan: settle what the bound settles, give the rest to the solver, prove the gap to the best."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from . import bundle, core
from .prices import Prices, Reply, descend, losses, reply
from .problem import Floats, Ints, Program

METHOD: Final = "yearly_program"
VERSION: Final = 1
SAMPLED: Final = 3_000
"""More trees than this are priced on a sample first."""
EXACT_COLUMNS: Final = 400
"""A core of so few columns is solved to the end."""
SHARPENINGS: Final = 16
ENOUGH: Final = 1e-5
"""A promised fall of the bound, relative, that is not worth a step."""
STOPPED: Final = "stopped early: another run may give another plan"

Progress = Callable[[int, int | None, str], None]
"""Called between steps with (done, total, what). May raise StopEarly, or anything else to cancel."""


class StopEarly(Exception):  # an order, not an error
    """Raised by a progress call: enough, give the best plan so far. It is marked as not reproducible."""


def silent(done: int, total: int | None, what: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Effort:
    """How hard to try, in work and not in time. `gap` is the relative gap at which it is enough.

    `steps` and `slopes` of the pricing, at most `rounds` of growing cores that begin with `core_columns`, `nodes` and
    `looks` of the solver a core.
    """

    gap: float = 1e-4
    steps: int = 200
    rounds: int = 3
    core_columns: int = 600
    growth: int = 3
    nodes: int = 200
    looks: int = 60
    slopes: int = 60


@dataclass(frozen=True)
class Plan:
    """The picked columns with what is proven of them.

    `benefit` <= any plan's benefit <= `bound`; `gap` = (bound - benefit) / bound. `prices`: what one more unit of each
    limit is about worth. `feasible`: False where no plan keeps the limits, or none was found (`picked` is then empty).
    `stopped`: by StopEarly. `settled_trees`: those that the last core left as priced.
    """

    picked: Ints
    benefit: float
    bound: float
    prices: Prices
    feasible: bool
    proven_infeasible: bool = False
    rounds: int = 0
    settled_trees: int = 0
    stopped: bool = False
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
    search = _Search(program, effort, start, progress)
    try:
        search.price(prices)
        for done in range(effort.rounds):
            progress(done, effort.rounds, "choosing")
            if search.round():
                break
    except StopEarly:
        search.stopped = True
    return search.plan()


def _none(program: Program, note: str) -> Plan:
    nothing = np.zeros(0, np.int64)
    return Plan(nothing, 0.0, 0.0, Prices.none(program), feasible=False, proven_infeasible=True, notes=(note,))


class _Search:
    """One search: the best prices and plan so far, and a core that grows from round to round."""

    def __init__(self, program: Program, effort: Effort, start: Ints | None, progress: Progress) -> None:
        self.program, self.effort, self.progress = program, effort, progress
        kept = start is not None and program.keeps(start)
        self.picked = np.sort(start) if kept and start is not None else None
        self.benefit = -np.inf if self.picked is None else float(program.columns.benefit[self.picked].sum())
        self.prices = Prices.none(program)
        self.answer = reply(program, self.prices)
        self.bound = self.answer.bound
        self.size, self.rounds, self.settled = effort.core_columns, 0, 0
        self.impossible = self.stopped = False

    def price(self, prices: Prices | None) -> None:
        """Prices from a sample where there are many trees, then on the whole."""
        program, steps = self.program, self.effort.steps
        if prices is None and program.trees > SAMPLED:
            prices = self._sampled()
            steps = min(steps, 40)
        floor = max(self.benefit, 0.0)
        self.progress(0, steps, "pricing")
        tick = lambda step: self.progress(step, steps, "pricing")  # noqa: E731 # a bound method would need a class
        self._learn(*descend(program, prices or Prices.none(program), floor, steps, tick))
        self._sharpen()
        if program.opens:
            self._bundle()

    def _sampled(self) -> Prices:
        """The prices of a smaller program like this one."""
        some = self.program.sample(-(-self.program.trees // SAMPLED))
        search = _Search(some, self.effort, None, self.progress)
        search.price(None)
        return search.prices

    def _learn(self, prices: Prices, answer: Reply) -> bool:
        """Keep prices where their bound is lower; whether it is much lower."""
        much = answer.bound < self.bound - 1e-6 * abs(answer.bound)
        if answer.bound < self.bound:
            self.prices, self.answer, self.bound = prices, answer, answer.bound
        return much

    def _sharpen(self) -> None:
        """Better prices from the relaxation of ever new cores, kept where they lower the bound of the whole.

        They stay in a box around the best ones, which shrinks where they do not: far off, a core's prices mean little.
        """
        size, reach, failed = max(4 * self.effort.core_columns, self.program.trees // 8), 1.0, 0
        for _ in range(SHARPENINGS):
            self.progress(self.rounds, self.effort.rounds, "pricing")
            now, span = self.prices.all, reach * (self.prices.all + self._small_prices())
            found = core.relax(self.program, self._core(size)[0], (np.maximum(now - span, 0.0), now + span))
            if found.prices is None:
                return
            if not self._learn(found.prices, reply(self.program, found.prices)):
                reach, failed = reach / 4, failed + 1
                if failed > 4:
                    return

    def _bundle(self) -> None:
        """Lower the bound by all the slopes met so far at once: where openings make cores of little use."""
        slopes = bundle.Slopes(self.program)
        slopes.add(self.prices, self.answer)
        reach, failed = 0.5, 0
        for _ in range(self.effort.slopes):
            self.progress(self.rounds, self.effort.rounds, "pricing")
            span = reach * (self.prices.all + self._small_prices())
            promised, prices = slopes.lowest(np.maximum(self.prices.all - span, 0.0), self.prices.all + span)
            if self.bound - promised <= ENOUGH * abs(self.bound):
                reach, failed = reach * 2, failed + 1
                if failed > 2:
                    return
                continue
            answer = reply(self.program, prices)
            slopes.add(prices, answer)
            if self._learn(prices, answer):
                failed = 0
            else:
                reach = max(reach / 2, 1e-3)

    def _small_prices(self) -> Floats:
        """A hundredth of the price at which a limit would be worth all there is."""
        limits = self.program.limits
        there = np.concatenate([limits.money, limits.hours, np.full(len(limits.least), limits.money.sum())])
        small: Floats = 0.01 * abs(self.bound) / np.maximum(there, 1.0)
        return small

    def _core(self, size: int) -> tuple[core.Core, bool]:
        """About `size` undecided columns; whether those left out are proven to be in no better plan."""
        lost, alone = losses(self.program, self.prices, self.answer)
        room = (self.bound - self.benefit) * (1 + 1e-6) + 1e-9 * abs(self.bound)
        enough = min(room, self._reach(lost, alone, size))
        part = core.carve(self.program, self.answer.picked, lost <= enough, alone <= enough)
        return part, enough >= room

    def _reach(self, lost: Floats, alone: Floats, size: int) -> float:
        """Up to which loss choices are undecided, so that about `size` of them are."""
        open_choices = np.concatenate([lost, alone[~self.program.must]])
        # Each tree has one choice without loss.
        size += self.program.trees
        if len(open_choices) <= size:
            return np.inf
        return float(np.partition(open_choices, size)[size])

    def round(self) -> bool:
        """One round; whether it is enough."""
        if self.bound < 0:
            self.impossible = self.bound < -1e-6 * self.program.columns.benefit.max(initial=1.0)
            return self.impossible
        self.rounds += 1
        part, complete = self._core(self.size)
        self.settled = self.program.trees - len(np.unique(self.program.columns.tree[part.columns]))
        allowance = core.Allowance(self._part_gap(part), self.effort.nodes, self.effort.looks)
        found = core.solve(self.program, part, allowance, start=self.picked, tick=self._tick)
        self._take(part, found)
        if complete:
            self._prove(found)
            return True
        self.size *= self.effort.growth * (2 if found.infeasible else 1)
        return self._gap() <= self.effort.gap

    def _tick(self) -> None:
        self.progress(self.rounds, self.effort.rounds, "choosing")

    def _part_gap(self, part: core.Core) -> float:
        """The gap asked of the core, so that the gap of the whole can be reached; none left in a small one."""
        if len(part.columns) <= EXACT_COLUMNS:
            return 0.0
        rest = float(self.program.columns.benefit[part.settled].sum())
        inside = max(self.bound - rest, 1e-300)
        return float(np.clip(self.effort.gap / 4 * self.bound / inside, 1e-6, 0.05))

    def _take(self, part: core.Core, found: core.Found) -> None:
        """Keep what was found where it is a plan and better."""
        if found.infeasible:
            return
        plan = np.sort(np.concatenate([part.settled, found.picked]))
        benefit = float(self.program.columns.benefit[plan].sum())
        if benefit > self.benefit and self.program.keeps(plan):
            self.picked, self.benefit = plan, benefit

    def _prove(self, found: core.Found) -> None:
        """A better plan than the known one would lie in a complete core: what holds of it holds of the program."""
        self.impossible = found.infeasible and self.picked is None
        bound = self.benefit if found.infeasible else max(found.bound, self.benefit)
        if np.isfinite(bound):
            self.bound = min(self.bound, bound)

    def _gap(self) -> float:
        if self.picked is None:
            return np.inf
        return (self.bound - self.benefit) / self.bound if self.bound > 0 else 0.0

    def plan(self) -> Plan:
        """The best plan that was found, or that there is none."""
        notes = (STOPPED,) if self.stopped else ()
        if self.picked is None:
            nothing = np.zeros(0, np.int64)
            bound = 0.0 if self.impossible else max(self.bound, 0.0)
            return Plan(
                nothing, 0.0, bound, self.prices, False, self.impossible, self.rounds, self.settled, self.stopped, notes
            )
        bound = max(self.bound, self.benefit)
        return Plan(
            self.picked, self.benefit, bound, self.prices, True, False, self.rounds, self.settled, self.stopped, notes
        )
