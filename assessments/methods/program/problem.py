"""The program as arrays: columns sorted by tree and quarter, limits by row, zones that cost something to open."""

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from assessments.methods.problems import MethodProblem

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]

MOST_QUARTERS: Final = 6
"""The quarters in which a zone is opened are enumerated as subsets: 2 to this power of them."""
LARGEST: Final = 1e15


@dataclass(frozen=True)
class Columns:
    """What may be done: one work on one tree in one quarter. All arrays of one length m.

    `tree` and `quarter` count from 0, sorted by (tree, quarter). `benefit` is harm removed, in any one unit;
    `cost` in money is charged to the budget row `budget`, `hours` to the crew row `crew`; -1 charges nothing.
    """

    tree: Ints
    quarter: Ints
    benefit: Floats
    cost: Floats
    budget: Ints
    hours: Floats
    crew: Ints

    def __len__(self) -> int:
        return len(self.tree)

    def chosen(self, rows: "Ints | Bools") -> "Columns":
        """Some of the columns, in the same order."""
        return Columns(*(getattr(self, name)[rows] for name in _COLUMNS))


_COLUMNS: Final = ("tree", "quarter", "benefit", "cost", "budget", "hours", "crew")


@dataclass(frozen=True)
class Zones:
    """Zones of trees, and what it costs to open each in each quarter, charged to `budget` of the quarter.

    `of_tree` (n), `cost` (zones x quarters), `budget` (quarters, -1 charges nothing).
    """

    of_tree: Ints
    cost: Floats
    budget: Ints


@dataclass(frozen=True)
class Limits:
    """What there is: money by budget row, hours by crew row, and least spending by district.

    `district` (n): of each tree, -1 none. `least` (districts): an amount; `least_share`: of all that is spent on trees.
    """

    money: Floats
    hours: Floats
    district: Ints
    least: Floats = field(default_factory=lambda: np.zeros(0))
    least_share: Floats = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True)
class Program:
    """A program to be solved. A tree of `must` gets exactly one of its columns, every other tree at most one.

    Raises MethodProblem where the arrays do not fit each other.
    """

    columns: Columns
    must: Bools
    zones: Zones
    limits: Limits
    quarters: int

    def __post_init__(self) -> None:
        _require(self)

    @property
    def trees(self) -> int:
        """How many trees there are."""
        return len(self.must)

    @cached_property
    def starts(self) -> Ints:
        """Where the columns of each (tree, quarter) that has any begin."""
        cells = self.cells
        return np.flatnonzero(np.r_[True, cells[1:] != cells[:-1]]) if len(cells) else np.zeros(0, np.int64)

    @cached_property
    def place_of_cell(self) -> Ints:
        """Where the columns of each (tree, quarter) begin; -1: it has none."""
        places = np.full(self.trees * self.quarters, -1, np.int64)
        places[self.cells[self.starts]] = self.starts
        return places

    @cached_property
    def cells(self) -> Ints:
        """The (tree, quarter) of each column as one number."""
        return self.columns.tree * self.quarters + self.columns.quarter

    @cached_property
    def opens(self) -> bool:
        """Whether opening a zone costs anything."""
        return bool(self.zones.cost.any())

    @cached_property
    def without_work(self) -> Ints:
        """The trees that must be worked on and have no column: nothing can be planned for them."""
        has = np.zeros(self.trees, bool)
        has[self.columns.tree] = True
        return np.flatnonzero(self.must & ~has)

    def sample(self, every: int) -> "Program":
        """One tree of so many, taken evenly from each zone's must and may, with limits and openings to scale."""
        order = np.lexsort((np.arange(self.trees), self.must, self.zones.of_tree))
        kept = np.sort(order[every // 2 :: every])
        return self.part(kept, len(kept) / self.trees)

    def part(self, trees: Ints, scale: float = 1.0) -> "Program":
        """The same for some of the trees (rising), limits and openings times `scale`."""
        place = np.full(self.trees, -1, np.int64)
        place[trees] = np.arange(len(trees))
        columns = self.columns.chosen(place[self.columns.tree] >= 0)
        limits = self.limits
        return Program(
            replace(columns, tree=place[columns.tree]),
            self.must[trees],
            Zones(self.zones.of_tree[trees], self.zones.cost * scale, self.zones.budget),
            Limits(
                limits.money * scale,
                limits.hours * scale,
                limits.district[trees],
                limits.least * scale,
                limits.least_share,
            ),
            self.quarters,
        )

    def used(self, picked: Ints) -> tuple[Floats, Floats]:
        """Money by budget row and hours by crew row that the picked columns use, openings of zones included."""
        some = self.columns.chosen(picked)
        money = _sums(some.budget, some.cost, len(self.limits.money))
        hours = _sums(some.crew, some.hours, len(self.limits.hours))
        for zone, quarter in zip(*np.nonzero(self.opened(picked)), strict=True):
            row = self.zones.budget[quarter]
            if row >= 0:
                money[row] += self.zones.cost[zone, quarter]
        return money, hours

    def opened(self, picked: Ints) -> Bools:
        """Which zones the picked columns open in which quarter (zones x quarters)."""
        found = np.zeros(self.zones.cost.shape, bool)
        found[self.zones.of_tree[self.columns.tree[picked]], self.columns.quarter[picked]] = True
        return found

    def spent(self, picked: Ints) -> Floats:
        """Money spent on trees by district."""
        some = self.columns.chosen(picked)
        return _sums(self.limits.district[some.tree], some.cost, len(self.limits.least))

    def keeps(self, picked: Ints) -> bool:
        """Whether picked columns are a plan: one a tree, each tree that must be among them, every limit kept."""
        if len(picked) and not (picked.min() >= 0 and picked.max() < len(self.columns)):
            return False
        chosen = np.bincount(self.columns.tree[picked], minlength=self.trees)
        if (chosen > 1).any() or not chosen[self.must].all():
            return False
        money, hours = self.used(picked)
        limits = self.limits
        least = limits.least + limits.least_share * self.columns.cost[picked].sum()
        kept = _at_most(money, limits.money) and _at_most(hours, limits.hours)
        return kept and _at_most(least, self.spent(picked))


def _at_most(used: Floats, limit: Floats) -> bool:
    """Up to rounding of sums of money and hours."""
    return bool((used <= limit + 1e-6 * np.maximum(1.0, np.abs(limit))).all())


def _sums(rows: Ints, values: Floats, count: int) -> Floats:
    """Sums by row; a row of -1 counts nowhere."""
    known = rows >= 0
    return np.bincount(rows[known], values[known], count)[:count].astype(np.float64)


def build(rows: dict[str, Any], must: Bools, zones: Zones, limits: Limits, quarters: int) -> tuple[Program, Ints]:
    """A program from columns in any order; also the place that each sorted column had."""
    order = np.lexsort((np.asarray(rows["quarter"]), np.asarray(rows["tree"])))
    real = ("benefit", "cost", "hours")
    sorted_rows: dict[str, Any] = {
        name: np.asarray(rows[name], np.float64 if name in real else np.int64)[order] for name in _COLUMNS
    }
    columns = Columns(**sorted_rows)
    return Program(columns, must, zones, limits, quarters), order


def _require(program: Program) -> None:
    columns, limits, zones = program.columns, program.limits, program.zones
    if not 1 <= program.quarters <= MOST_QUARTERS:
        raise MethodProblem("/quarters", f"must be 1 to {MOST_QUARTERS}")
    if any(len(getattr(columns, name)) != len(columns) for name in _COLUMNS):
        raise MethodProblem("/columns", "must all be of one length")
    if len(columns) and (np.diff(program.cells) < 0).any():
        raise MethodProblem("/columns", "must be sorted by tree and quarter")
    for name in ("benefit", "cost", "hours"):
        _require_plain(f"/columns/{name}", getattr(columns, name))
    for name in ("money", "hours", "least", "least_share"):
        _require_plain(f"/limits/{name}", getattr(limits, name))
    _require_plain("/zones/cost", zones.cost.ravel())
    _within("/columns/tree", columns.tree, 0, program.trees)
    _within("/columns/quarter", columns.quarter, 0, program.quarters)
    _within("/columns/budget", columns.budget, -1, len(limits.money))
    _within("/columns/crew", columns.crew, -1, len(limits.hours))
    _within("/zones/of_tree", zones.of_tree, 0, len(zones.cost))
    _within("/zones/budget", zones.budget, -1, len(limits.money))
    _within("/limits/district", limits.district, -1, len(limits.least))
    if len(zones.of_tree) != program.trees or len(limits.district) != program.trees:
        raise MethodProblem("/zones/of_tree", "must name a zone, and a district or -1, for each tree")
    if zones.cost.shape[1:] != (program.quarters,) or len(zones.budget) != program.quarters:
        raise MethodProblem("/zones/cost", "must have one column a quarter")
    if limits.least_share.sum() > 1 or len(limits.least_share) != len(limits.least):
        raise MethodProblem("/limits/least_share", "must be one share a district, together at most 1")


def _require_plain(pointer: str, values: Floats) -> None:
    if len(values) and not (np.isfinite(values).all() and values.min() >= 0 and values.max() <= LARGEST):
        raise MethodProblem(pointer, "must be finite and not negative")


def _within(pointer: str, values: Ints, low: int, end: int) -> None:
    if len(values) and not (values.min() >= low and values.max() < end):
        raise MethodProblem(pointer, f"must lie from {low} to {end - 1}")
