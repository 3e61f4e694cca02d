"""The dual: prices on money, crew hours and district minima; what they prove no plan can exceed, and what they pick.

Only the limits that trees share are priced. Which quarters a zone is opened in is settled exactly inside, zone by
zone, over all subsets of quarters, so that the bound is at least as strong as the linear relaxation with openings.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from .problem import Bools, Floats, Ints, Program

NEVER: Final = -1e300
"""Stands for minus infinity, which does not survive being subtracted from itself."""


@dataclass(frozen=True)
class Prices:
    """What a unit of each shared limit is worth in benefit; none is negative."""

    money: Floats
    hours: Floats
    least: Floats

    @classmethod
    def none(cls, program: Program) -> "Prices":
        """Nothing has a price: every tree gets the work that removes most harm."""
        limits = program.limits
        return cls(np.zeros(len(limits.money)), np.zeros(len(limits.hours)), np.zeros(len(limits.least)))

    @property
    def all(self) -> Floats:
        """All of them in one array."""
        return np.concatenate([self.money, self.hours, self.least])

    @classmethod
    def of(cls, values: Floats, program: Program) -> "Prices":
        """From one array; what is negative becomes 0."""
        ends = np.cumsum([len(program.limits.money), len(program.limits.hours)])
        return cls(*np.split(np.maximum(values, 0.0), ends))


@dataclass(frozen=True)
class Reply:
    """What prices lead to: `bound` on the benefit of any plan, the columns that trees pick, how far limits are passed.

    `slack` by limit, in the order of Prices.all: what is left (negative: passed). `value` by column at these prices;
    `best` by tree and quarter; `opened` by zone and quarter.
    """

    bound: float
    picked: Ints
    slack: Floats
    value: Floats
    best: Floats
    opened: Bools


def reply(program: Program, prices: Prices) -> Reply:
    """Answer prices: each tree takes what is worth most, each zone the quarters that are. O(columns)."""
    value = worth(program, prices)
    best = _by_quarter(program, value)
    total, opened = 0.0, np.ones(program.zones.cost.shape, bool)
    if program.opens:
        table = np.stack([worths for _, worths in _subsets(program, prices, best)])
        chosen = table.argmax(axis=0)
        opened = ((chosen[:, None] >> np.arange(program.quarters)) & 1) == 1
        total = float(table.max(axis=0).sum())
    else:
        total = float(np.maximum(best.max(axis=1, initial=NEVER), _idle(program)).sum())
    picked = _choices(program, value, best, opened)
    slack = _slack(program, picked, opened)
    return Reply(_constant(program, prices) + total, picked, slack, value, best, opened)


def worth(program: Program, prices: Prices) -> Floats:
    """The value of each column: its benefit less what it uses at these prices, plus what its district asks for."""
    columns, limits = program.columns, program.limits
    # One more entry, 0, answers a row of -1.
    money, hours = np.append(prices.money, 0.0), np.append(prices.hours, 0.0)
    paid = money[columns.budget]
    if len(limits.least):
        paid = paid - np.append(prices.least, 0.0)[limits.district[columns.tree]]
        paid = paid + float(prices.least @ limits.least_share)
    value: Floats = columns.benefit - paid * columns.cost - hours[columns.crew] * columns.hours
    return value


def _idle(program: Program) -> Floats:
    """What doing nothing is worth by tree."""
    return np.where(program.must, NEVER, 0.0)


def _by_quarter(program: Program, value: Floats) -> Floats:
    """The best value of each tree in each quarter (trees x quarters)."""
    best = np.full(program.trees * program.quarters, NEVER)
    if len(value):
        best[program.cells[program.starts]] = np.maximum.reduceat(value, program.starts)
    return best.reshape(program.trees, program.quarters)


def _subsets(program: Program, prices: Prices, best: Floats) -> Iterator[tuple[Floats, Floats]]:
    """For each subset of quarters, by its bits: what each tree is worth in it, and each zone less its openings."""
    money = np.append(prices.money, 0.0)
    charge = money[program.zones.budget] * program.zones.cost
    worth_of = [_idle(program)]
    yield worth_of[0], _by_zone(program, worth_of[0])
    for subset in range(1, 1 << program.quarters):
        last = subset.bit_length() - 1
        value = np.maximum(worth_of[subset ^ (1 << last)], best[:, last])
        worth_of.append(value)
        asked = [quarter for quarter in range(program.quarters) if subset >> quarter & 1]
        yield value, _by_zone(program, value) - charge[:, asked].sum(axis=1)


def _by_zone(program: Program, value: Floats) -> Floats:
    total: Floats = np.bincount(program.zones.of_tree, value, len(program.zones.cost)).astype(np.float64)
    return total


def _choices(program: Program, value: Floats, best: Floats, opened: Bools) -> Ints:
    """The column that each tree picks among open quarters, the first of equals; none where nothing is worth it."""
    open_to = best if opened.all() else np.where(opened[program.zones.of_tree], best, NEVER)
    quarter = open_to.argmax(axis=1)
    first = open_to[np.arange(program.trees), quarter]
    tree = np.flatnonzero((first > NEVER) & (program.must | (first > 0)))
    place: Ints = program.place_of_cell[tree * program.quarters + quarter[tree]]
    # A column of the cell holds the cell's best value: walk to the first that does.
    while True:
        behind = value[place] < first[tree]
        if not behind.any():
            return place
        place = place + behind


def losses(program: Program, prices: Prices, answer: Reply) -> tuple[Floats, Floats]:
    """By how much the bound falls if a column is forced, by column, and if a tree is left alone, by tree.

    A choice that loses more than bound - benefit of a known plan is in no better plan. Not negative; inf: forbidden.
    """
    columns, idle = program.columns, _idle(program)
    if not program.opens:
        top = np.maximum(answer.best.max(axis=1, initial=NEVER), idle)
        alone = np.where(program.must, np.inf, top)
        return np.maximum(top[columns.tree] - answer.value, 0.0), alone
    zone = program.zones.of_tree
    others = np.full((program.trees, program.quarters), NEVER)
    any_subset, top = np.full(program.trees, NEVER), np.full(len(program.zones.cost), NEVER)
    for subset, (worths, zones) in enumerate(_subsets(program, prices, answer.best)):
        rest = zones[zone] - worths
        any_subset = np.maximum(any_subset, rest)
        top = np.maximum(top, zones)
        for quarter in range(program.quarters):
            if subset >> quarter & 1:
                np.maximum(others[:, quarter], rest, out=others[:, quarter])
    forced = others.ravel()[program.cells] + answer.value
    alone = np.where(program.must, np.inf, top[zone] - any_subset)
    return np.maximum(top[zone[columns.tree]] - forced, 0.0), np.maximum(alone, 0.0)


def _slack(program: Program, picked: Ints, opened: Bools) -> Floats:
    """What is left of each limit; of a district's least spending, by how much it is passed."""
    limits, columns, zones = program.limits, program.columns, program.zones
    some = columns.chosen(picked)
    money = limits.money.copy()
    np.subtract.at(money, some.budget[some.budget >= 0], some.cost[some.budget >= 0])
    if program.opens:
        charge = np.where(zones.budget >= 0, (zones.cost * opened).sum(axis=0), 0.0)
        np.subtract.at(money, zones.budget[zones.budget >= 0], charge[zones.budget >= 0])
    hours = limits.hours.copy()
    np.subtract.at(hours, some.crew[some.crew >= 0], some.hours[some.crew >= 0])
    spent = program.spent(picked)
    least = spent - limits.least - limits.least_share * some.cost.sum()
    return np.concatenate([money, hours, least])


def by_zone(program: Program, answer: Reply) -> tuple[Floats, Floats]:
    """What a reply picks, by zone: benefit, and what it uses of each shared limit (zones x limits; less than 0: gives).

    The bound at other prices p is nowhere below the sum over zones of benefit - uses x p, and what there is x p.
    """
    limits, zones = program.limits, program.zones
    some = program.columns.chosen(answer.picked)
    zone, count = zones.of_tree[some.tree], len(zones.cost)
    money, hours = len(limits.money), len(limits.hours)
    uses = np.zeros((count, money + hours + len(limits.least)))
    paid, crewed = some.budget >= 0, some.crew >= 0
    np.add.at(uses, (zone[paid], some.budget[paid]), some.cost[paid])
    np.add.at(uses, (zone[crewed], money + some.crew[crewed]), some.hours[crewed])
    placed = limits.district[some.tree] >= 0
    district = money + hours + limits.district[some.tree][placed]
    np.add.at(uses, (zone[placed], district), -some.cost[placed])
    uses[:, money + hours :] += _sums_by_zone(program, answer.picked)[:, None] * limits.least_share
    if program.opens:
        for quarter in np.flatnonzero(zones.budget >= 0).tolist():
            uses[:, zones.budget[quarter]] += zones.cost[:, quarter] * answer.opened[:, quarter]
    return np.bincount(zone, some.benefit, count).astype(np.float64), uses


def _sums_by_zone(program: Program, picked: Ints) -> Floats:
    """The cost of picked columns by zone."""
    zone = program.zones.of_tree[program.columns.tree[picked]]
    return np.bincount(zone, program.columns.cost[picked], len(program.zones.cost)).astype(np.float64)


def _constant(program: Program, prices: Prices) -> float:
    limits = program.limits
    return float(prices.money @ limits.money + prices.hours @ limits.hours - prices.least @ limits.least)


def descend(
    program: Program, prices: Prices, target: float, steps: int, tick: Callable[[int], None] | None = None
) -> tuple[Prices, Reply]:
    """Lower the bound by steps along its subgradient, sized by how far `target` (any plan's benefit) lies below.

    Deterministic; the lowest bound met is returned. Limits are scaled by their size: money and hours count alike.
    `tick` is told the step; it may raise.
    """
    size = np.maximum(np.concatenate([program.limits.money, program.limits.hours, _least_size(program)]), 1.0)
    best, found = prices, reply(program, prices)
    now, answer, pace, stale = best, found, 1.0, 0
    for step in range(steps):
        if tick is not None:
            tick(step)
        # The step is scaled by the limit's size twice: once for the slope, once for the price.
        slope = answer.slack / size
        slope = np.where((now.all <= 0) & (slope > 0), 0.0, slope)
        length = float(slope @ slope)
        if length <= 0 or found.bound < 0:
            break
        reach = pace * max(answer.bound - target, 1e-6 * abs(answer.bound)) / length
        now = Prices.of(now.all - reach * slope / size, program)
        answer = reply(program, now)
        better = answer.bound < found.bound - 1e-5 * abs(found.bound)
        stale = 0 if better else stale + 1
        if answer.bound < found.bound:
            best, found = now, answer
        if stale >= 6:
            now, answer, pace, stale = best, found, pace / 2, 0
            if pace < 1e-3:
                break
    return best, found


def _least_size(program: Program) -> Floats:
    limits = program.limits
    size: Floats = np.maximum(limits.least, limits.least_share * limits.money.sum())
    return size
