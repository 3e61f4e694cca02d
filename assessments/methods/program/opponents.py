"""Two simple planners to measure against: worst first by class, and a fair greedy. Both do what must be done first."""

from typing import Final

import numpy as np

from .problem import Floats, Ints, Program

POWERS: Final = (0.25, 0.5, 0.75, 1.0)
UPGRADES: Final = 3
"""Passes in which the greedy trades a work for a better one of the same tree."""


def classes(program: Program) -> Ints:
    """A stand-in for the risk class where there is none: decades of the most harm that any work removes, by tree."""
    most = np.zeros(program.trees)
    np.maximum.at(most, program.columns.tree, program.columns.benefit)
    rank: Ints = np.floor(np.log10(np.maximum(most, 1e-12))).astype(np.int64)
    return rank


def worst_first(program: Program, risk_class: Ints) -> Ints | None:
    """Trees by class, the higher the earlier, then by harm; each gets its best work that still fits. None: no plan."""
    columns = program.columns
    order = np.lexsort((columns.tree, columns.quarter, -columns.benefit, -risk_class[columns.tree]))
    return _planned(program, order, upgrades=0)


def greedy(program: Program) -> Ints | None:
    """Benefit by what a work uses of all limits, scaled by their size; then better works where they fit.

    Tried with several powers of the use, from hardly to fully counted; the best of those plans. None: no plan.
    """
    weight, columns = np.maximum(_weight(program), 1e-12), program.columns
    plans = []
    for power in POWERS:
        rate = columns.benefit / weight**power
        plans.append(_planned(program, np.lexsort((np.arange(len(columns)), -rate)), upgrades=UPGRADES))
    found = [plan for plan in plans if plan is not None]
    return max(found, key=lambda plan: float(columns.benefit[plan].sum()), default=None)


def _weight(program: Program) -> Floats:
    """The shares of its budget and its crew that a column uses."""
    columns, limits = program.columns, program.limits
    money, hours = np.append(limits.money, np.inf), np.append(limits.hours, np.inf)
    share = columns.cost / np.maximum(money[columns.budget], 1e-12)
    weight: Floats = share + columns.hours / np.maximum(hours[columns.crew], 1e-12)
    return weight


def _planned(program: Program, order: Ints, upgrades: int) -> Ints | None:
    """What must be done, cheapest first where it would not fit otherwise; then the rest in `order`."""
    must = program.must[program.columns.tree]
    tight = np.lexsort((np.arange(len(must)), _weight(program)))
    for first in (order[must[order]], tight[must[tight]]):
        ledger = _Ledger(program)
        ledger.fill(first)
        if ledger.done(program.must):
            break
    else:
        return None
    ledger.fill(order[~must[order]])
    for _ in range(upgrades):
        gain = ledger.gains()
        better = np.flatnonzero(gain > 0)
        if not ledger.trade(better[np.lexsort((better, -gain[better]))]):
            break
    return ledger.picked()


class _Ledger:
    """What is left of the limits while works are taken one after the other. Minima of districts are not looked at."""

    def __init__(self, program: Program) -> None:
        self.program, columns = program, program.columns
        self.pick = [-1] * program.trees
        # Plain lists: ten times faster to walk than arrays. The last entry answers a row of -1.
        self.money, self.hours = [*program.limits.money.tolist(), np.inf], [*program.limits.hours.tolist(), np.inf]
        self.tree, self.budget, self.crew = columns.tree.tolist(), columns.budget.tolist(), columns.crew.tolist()
        self.cost, self.needs = columns.cost.tolist(), columns.hours.tolist()
        self.zone = program.zones.of_tree[columns.tree].tolist()
        self.quarter = columns.quarter.tolist()
        self.closed = {
            (zone, quarter): float(program.zones.cost[zone, quarter])
            for zone, quarter in np.argwhere(program.zones.cost > 0).tolist()
        }
        self.payer = program.zones.budget.tolist()

    def fill(self, order: Ints) -> None:
        """Take each column in turn whose tree has none and that fits."""
        for place in order.tolist():
            if self.pick[self.tree[place]] < 0 and self._fits(place):
                self._take(place)

    def trade(self, order: Ints) -> int:
        """Replace works by better ones of the same tree where they fit; how many."""
        traded = 0
        for place in order.tolist():
            tree = self.tree[place]
            old = self.pick[tree]
            if old >= 0 and self.program.columns.benefit[old] >= self.program.columns.benefit[place]:
                continue
            if old >= 0:
                self._book(old, -1.0)
            if self._fits(place):
                self._take(place)
                traded += 1
            elif old >= 0:
                self._book(old, 1.0)
        return traded

    def gains(self) -> Floats:
        """How much more each column removes than what its tree has now."""
        now = np.array([*self.pick])
        benefit = np.append(self.program.columns.benefit, 0.0)
        gain: Floats = benefit[:-1] - benefit[now][self.program.columns.tree]
        return gain

    def done(self, must: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> bool:
        """Whether each tree that must have a work has one."""
        return all(self.pick[tree] >= 0 for tree in np.flatnonzero(must).tolist())

    def picked(self) -> Ints:
        """The columns taken, rising."""
        return np.sort(np.array([place for place in self.pick if place >= 0], np.int64))

    def _door(self, place: int) -> float:
        return self.closed.get((self.zone[place], self.quarter[place]), 0.0)

    def _fits(self, place: int) -> bool:
        budget, payer = self.budget[place], self.payer[self.quarter[place]]
        cost, door = self.cost[place], self._door(place)
        if budget == payer:
            cost, door = cost + door, 0.0
        return bool(
            cost <= self.money[budget]
            and door <= self.money[payer]
            and self.needs[place] <= self.hours[self.crew[place]]
        )

    def _take(self, place: int) -> None:
        self._book(place, 1.0)
        self.pick[self.tree[place]] = place
        door = self.closed.pop((self.zone[place], self.quarter[place]), 0.0)
        self.money[self.payer[self.quarter[place]]] -= door

    def _book(self, place: int, sign: float) -> None:
        self.money[self.budget[place]] -= sign * self.cost[place]
        self.hours[self.crew[place]] -= sign * self.needs[place]
