"""The small core as a linear or mixed-integer program: some trees free, the others settled, solved by HiGHS.

Limits are counted in the solver's own work (nodes), never in seconds, so that the same input gives the same answer.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import highspy
import numpy as np

from .prices import Prices
from .problem import Bools, Floats, Ints, Program

SEED: Final = 20_260
"""Of the solver's own choices; any number, fixed."""
ROUNDING: Final = 0.5
Tick: TypeAlias = Callable[[], None]


@dataclass(frozen=True)
class Core:
    """The free columns (places in the program), the settled ones, and the quarters that the settled ones open."""

    columns: Ints
    settled: Ints
    opened: Bools


@dataclass(frozen=True)
class Found:
    """The picked columns of the core (empty: none was found), the solver's bound, and the row prices.

    The bound has the settled trees in it. `infeasible`: no choice of the core keeps the limits.
    """

    picked: Ints
    bound: float
    prices: Prices | None
    infeasible: bool
    complete: bool


def carve(program: Program, picked: Ints, allowed: Bools, idle: Bools) -> Core:
    """A core of the columns that are `allowed` (m); trees with one choice left are settled.

    `idle` (n): the trees that may be left alone as well. Each tree has at least one choice: its pick, or none.
    """
    tree = program.columns.tree
    choices = np.bincount(tree[allowed], minlength=program.trees) + (idle & ~program.must)
    free = choices > 1
    settled = picked[~free[tree[picked]]]
    return Core(np.flatnonzero(allowed & free[tree]), settled, program.opened(settled))


Box: TypeAlias = tuple[Floats, Floats]


def relax(program: Program, core: Core, box: Box | None = None) -> Found:
    """The linear relaxation of a core and its prices, the best there are for it.

    `box`, by shared limit: prices stay between these two, as if what is left could be sold for the lower and more be
    bought for the higher. No core is then impossible, and the picks are no plan.
    """
    return _run(program, core, None, None, lambda: None, box)


def solve(
    program: Program, core: Core, allowance: "Allowance", *, start: Ints | None = None, tick: Tick = lambda: None
) -> Found:
    """The core with whole choices, as far as `allowance` goes. `start`: picks to begin from; `tick` may raise."""
    return _run(program, core, allowance, start, tick)


@dataclass(frozen=True)
class Allowance:
    """What a solve may use: down to a relative gap, so many nodes, so many of the solver's own looks at its limits.

    Unlike seconds these are the same in every run.
    """

    gap: float
    nodes: int
    looks: int


def _run(
    program: Program,
    core: Core,
    allowance: Allowance | None,
    start: Ints | None,
    tick: Tick,
    box: Box | None = None,
) -> Found:
    """Whole choices with an allowance, else the relaxation."""
    whole = allowance is not None
    if not len(core.columns) and box is None:
        return _nothing_free(program, core)
    model = _Model(program, core)
    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call] # the library has no types here
    for name, value in _options(allowance).items():
        solver.setOptionValue(name, value)
    solver.passModel(model.lp(whole, box))
    if start is not None and whole:
        solver.setSolution(model.solution(start))
    watch = _Watch(allowance.looks if allowance else 0, tick)
    if whole:
        solver.cbMipInterrupt.subscribe(watch.look)
    solver.run()
    if watch.raised is not None:
        raise watch.raised
    status = solver.getModelStatus()
    infeasible = status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)
    info, solution = solver.getInfo(), solver.getSolution()
    if infeasible or not solution.value_valid:
        return Found(np.zeros(0, np.int64), np.inf, None, infeasible, complete=infeasible)
    values = np.asarray(solution.col_value)[: len(core.columns)]
    picked = core.columns[values > ROUNDING]
    bound = (info.mip_dual_bound if whole else info.objective_function_value) / model.scale
    bound += float(program.columns.benefit[core.settled].sum())
    prices = None if whole else model.prices(np.asarray(solution.row_dual))
    return Found(picked, float(bound), prices, infeasible=False, complete=status == highspy.HighsModelStatus.kOptimal)


def _nothing_free(program: Program, core: Core) -> Found:
    """A core without choices: it either keeps the limits or does not."""
    keeps = program.keeps(core.settled)
    benefit = float(program.columns.benefit[core.settled].sum())
    return Found(core.columns, benefit, None, infeasible=not keeps, complete=True)


class _Watch:
    """Asked by the solver whether to go on; what `tick` raises is kept until the solver has come to an end."""

    def __init__(self, looks: int, tick: Tick) -> None:
        self.left, self.tick = looks, tick
        self.raised: Exception | None = None

    def look(self, event: Any) -> None:
        """One look: interrupt when they are used up or somebody cancels."""
        self.left -= 1
        try:
            self.tick()
        except Exception as problem:  # raised again once the solver is done
            self.raised = problem
        if self.left < 0 or self.raised is not None:
            event.interrupt()


def _options(allowance: Allowance | None) -> dict[str, Any]:
    chosen: dict[str, Any] = {
        "output_flag": False,
        "log_to_console": False,
        "threads": 1,
        "random_seed": SEED,
        "mip_abs_gap": 0.0,
        "mip_feasibility_tolerance": 1e-7,
        "primal_feasibility_tolerance": 1e-7,
    }
    if allowance is not None:
        chosen |= {"mip_max_nodes": allowance.nodes, "mip_rel_gap": allowance.gap}
    return chosen


class _Model:
    """Rows: one a free tree, the shared limits, and one a (tree, quarter) of a zone that costs something to open."""

    def __init__(self, program: Program, core: Core) -> None:
        self.program, self.core = program, core
        self.free = program.columns.chosen(core.columns)
        self.trees, self.row = np.unique(self.free.tree, return_inverse=True)
        limits = program.limits
        self.counts = (len(limits.money), len(limits.hours), len(limits.least))
        money, hours = program.used(core.settled)
        spent = program.spent(core.settled)
        total = program.columns.cost[core.settled].sum()
        self.left = np.concatenate([limits.money - money, limits.hours - hours])
        self.least = limits.least + limits.least_share * total - spent
        top = float(self.free.benefit.max(initial=0.0))
        self.scale = 1e4 / top if top > 0 else 1.0
        self._openings()

    def _openings(self) -> None:
        """The (zone, quarter) that may still be opened: 0/1 columns behind those of the trees."""
        program = self.program
        costs = program.zones.cost > 0
        self.zone = program.zones.of_tree[self.free.tree]
        asked = np.zeros(costs.shape, bool)
        asked[self.zone, self.free.quarter] = True
        self.doors = np.argwhere(costs & asked & ~self.core.opened)
        door_of = np.full(costs.shape, -1)
        door_of[tuple(self.doors.T)] = np.arange(len(self.doors))
        self.door = door_of[self.zone, self.free.quarter]
        behind = np.flatnonzero(self.door >= 0)
        cells = self.row[behind] * program.quarters + self.free.quarter[behind]
        self.cells, cell = np.unique(cells, return_inverse=True)
        self.behind, self.cell = behind, cell
        self.cell_door = np.zeros(len(self.cells), np.int64)
        self.cell_door[cell] = self.door[behind]

    def lp(self, whole: bool, box: Box | None) -> highspy.HighsLp:
        """The model as the solver takes it, to be maximised. `box`: between which the shared limits' prices stay."""
        rows, columns, values = self._entries()
        count = len(self.free) + len(self.doors)
        traded = np.zeros(0)
        if box is not None:
            traded = np.r_[box[0], -box[1]]
            trade = self._trade(count)
            rows, columns, values = (np.r_[had, more] for had, more in zip((rows, columns, values), trade, strict=True))
        order = np.lexsort((rows, columns))
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = count + len(traded), self._height()
        lp.sense_ = highspy.ObjSense.kMaximize
        lp.col_cost_ = np.r_[self.free.benefit, np.zeros(len(self.doors)), traded] * self.scale
        lp.col_lower_ = np.zeros(count + len(traded))
        lp.col_upper_ = np.r_[np.ones(count), np.full(len(traded), np.inf)]
        lp.row_lower_, lp.row_upper_ = self._sides()
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.r_[0, np.cumsum(np.bincount(columns, minlength=lp.num_col_))].astype(np.int32)
        lp.a_matrix_.index_ = rows[order].astype(np.int32)
        lp.a_matrix_.value_ = values[order].astype(np.float64)
        if whole:
            lp.integrality_ = [highspy.HighsVarType.kInteger] * count
        return lp

    def _trade(self, first: int) -> tuple[Ints, Ints, Floats]:
        """The entries of columns that sell, then of those that buy, a unit of each shared limit."""
        shared = len(self.left) + len(self.least)
        # Buying money lowers what is used of it; buying of a minimum raises what is spent.
        buys = np.r_[-np.ones(len(self.left)), np.ones(len(self.least))]
        rows = len(self.trees) + np.arange(shared)
        return np.r_[rows, rows], first + np.arange(2 * shared), np.r_[-buys, buys]

    def _height(self) -> int:
        return len(self.trees) + sum(self.counts) + len(self.cells)

    def _sides(self) -> tuple[Floats, Floats]:
        """Lower and upper sides of the rows."""
        must = self.program.must[self.trees]
        free = np.full(len(self.left), -np.inf)
        cells = np.full(len(self.cells), -np.inf)
        low = np.r_[np.where(must, 1.0, 0.0), free, self.least, cells]
        high = np.r_[np.ones(len(self.trees)), self.left, np.full(len(self.least), np.inf), np.zeros(len(self.cells))]
        return low, high

    def _entries(self) -> tuple[Ints, Ints, Floats]:
        """The matrix as (row, column, value)."""
        free, places = self.free, np.arange(len(self.free))
        base = len(self.trees)
        money, hours, least = self.counts
        parts = [
            (self.row, places, np.ones(len(free))),
            _known(base + free.budget, places, free.cost, free.budget >= 0),
            _known(base + money + free.crew, places, free.hours, free.crew >= 0),
            *self._district_entries(base + money + hours),
        ]
        if len(self.doors):
            door = len(free) + np.arange(len(self.doors))
            zone, quarter = self.doors.T
            paid = self.program.zones.budget[quarter]
            parts.append(_known(base + paid, door, self.program.zones.cost[zone, quarter], paid >= 0))
            cells = base + money + hours + least
            parts.append((cells + self.cell, places[self.behind], np.ones(len(self.behind))))
            parts.append((cells + np.arange(len(self.cells)), len(free) + self.cell_door, -np.ones(len(self.cells))))
        rows, columns, values = (np.concatenate(each) for each in zip(*parts, strict=True))
        kept = values != 0
        return rows[kept], columns[kept], values[kept]

    def _district_entries(self, base: int) -> list[tuple[Ints, Ints, Floats]]:
        """What each column spends in each district, less that district's share of all spending."""
        limits, places = self.program.limits, np.arange(len(self.free))
        district = limits.district[self.free.tree]
        parts = []
        for row, share in enumerate(limits.least_share):
            own = np.where(district == row, 1.0, 0.0) - share
            parts.append((np.full(len(places), base + row), places, own * self.free.cost))
        return parts

    def prices(self, duals: Floats) -> Prices:
        """The row duals of the shared limits, in benefit a unit."""
        base = len(self.trees)
        money, hours, least = self.counts
        shared = np.abs(duals[base : base + money + hours + least]) / self.scale
        ends = np.cumsum([money, hours])
        return Prices(*np.split(shared, ends))

    def solution(self, start: Ints) -> highspy.HighsSolution:
        """Picks to begin from, as the solver takes them."""
        taken = np.isin(self.core.columns, start)
        doors = np.zeros(len(self.doors))
        doors[self.door[taken & (self.door >= 0)]] = 1.0
        solution = highspy.HighsSolution()
        solution.col_value = np.r_[taken.astype(np.float64), doors]
        return solution


def _known(rows: Ints, columns: Ints, values: Floats, known: Bools) -> tuple[Ints, Ints, Floats]:
    return rows[known], columns[known], values[known]
