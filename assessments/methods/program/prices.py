"""The dual: prices on money, crew hours and district minima; what they prove no plan can exceed, and what they pick.

Only the limits that trees share are priced. Which quarters a zone is opened in is settled exactly inside, zone by
zone, over all subsets of quarters, so that the bound is at least as strong as the linear relaxation with openings.
"""

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

    `slack` by limit, in the order of Prices.all: what is left (negative: passed). `regret` by tree: how much worse its
    second choice is. `value` by column at these prices.
    """

    bound: float
    picked: Ints
    slack: Floats
    regret: Floats
    value: Floats
    opened: Bools


def reply(program: Program, prices: Prices) -> Reply:
    """Answer prices: each tree takes what is worth most, each zone the quarters that are. O(columns)."""
    value = worth(program, prices)
    best, column = _by_quarter(program, value)
    opened, total = _openings(program, prices, best)
    picked, regret = _choices(program, value, column, best, opened)
    slack = _slack(program, picked, opened)
    return Reply(_constant(program, prices) + total, picked, slack, regret, value, opened)


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


def _by_quarter(program: Program, value: Floats) -> tuple[Floats, Ints]:
    """The best value of each tree in each quarter, and its column (-1: it has none). Both trees x quarters."""
    shape = (program.trees, program.quarters)
    best, column = (
        np.full(program.trees * program.quarters, NEVER),
        np.full(program.trees * program.quarters, -1, np.int64),
    )
    starts = program.starts
    if len(starts):
        top = np.maximum.reduceat(value, starts)
        lengths = np.diff(np.r_[starts, len(value)])
        places = np.where(value == np.repeat(top, lengths), np.arange(len(value)), len(value))
        cells = program.cells[starts]
        best[cells], column[cells] = top, np.minimum.reduceat(places, starts)
    return best.reshape(shape), column.reshape(shape)


def _openings(program: Program, prices: Prices, best: Floats) -> tuple[Bools, float]:
    """The quarters in which each zone is opened, and the value of all trees less what the openings cost."""
    zones, quarters = program.zones, program.quarters
    idle = np.where(program.must, NEVER, 0.0)
    if not program.opens:
        value = np.maximum(best.max(axis=1, initial=NEVER), idle)
        return np.ones(zones.cost.shape, bool), float(value.sum())
    money = np.append(prices.money, 0.0)
    charge = money[zones.budget] * zones.cost
    worth_of = [idle]
    totals = [_by_zone(program, idle)]
    for subset in range(1, 1 << quarters):
        last = subset.bit_length() - 1
        value = np.maximum(worth_of[subset ^ (1 << last)], best[:, last])
        worth_of.append(value)
        asked = [quarter for quarter in range(quarters) if subset >> quarter & 1]
        totals.append(_by_zone(program, value) - charge[:, asked].sum(axis=1))
    table = np.stack(totals)
    subsets = table.argmax(axis=0)
    opened: Bools = ((subsets[:, None] >> np.arange(quarters)) & 1) == 1
    return opened, float(table.max(axis=0).sum())


def _by_zone(program: Program, value: Floats) -> Floats:
    total: Floats = np.bincount(program.zones.of_tree, value, len(program.zones.cost)).astype(np.float64)
    return total


def _choices(program: Program, value: Floats, column: Ints, best: Floats, opened: Bools) -> tuple[Ints, Floats]:
    """The column that each tree picks among open quarters, and by how much it beats the tree's next choice."""
    open_to = np.where(opened[program.zones.of_tree], best, NEVER)
    quarter = open_to.argmax(axis=1)
    rows = np.arange(program.trees)
    first = open_to[rows, quarter]
    picks = (first > NEVER) & (program.must | (first > 0))
    picked = column[rows, quarter][picks]
    second = _second(program, value, picked, open_to)
    idle = np.where(program.must, NEVER, 0.0)
    taken = np.where(picks, first, 0.0)
    other = np.where(picks, np.maximum(second, idle), first)
    return picked, np.maximum(taken - other, 0.0)


def _second(program: Program, value: Floats, picked: Ints, open_to: Floats) -> Floats:
    """The best value of each tree when the picked column is left out."""
    if not len(value):
        return np.full(program.trees, NEVER)
    columns = program.columns
    closed = open_to[columns.tree, columns.quarter] <= NEVER
    left = np.where(closed, NEVER, value)
    left[picked] = NEVER
    found = np.full(program.trees, NEVER)
    starts = np.flatnonzero(np.r_[True, columns.tree[1:] != columns.tree[:-1]])
    found[columns.tree[starts]] = np.maximum.reduceat(left, starts)
    return found


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


def _constant(program: Program, prices: Prices) -> float:
    limits = program.limits
    return float(prices.money @ limits.money + prices.hours @ limits.hours - prices.least @ limits.least)


def descend(program: Program, prices: Prices, target: float, steps: int) -> tuple[Prices, Reply]:
    """Lower the bound by steps along its subgradient, sized by how far `target` (any plan's benefit) lies below.

    Deterministic; the lowest bound met is returned. Limits are scaled by their size: money and hours count alike.
    """
    size = np.maximum(np.concatenate([program.limits.money, program.limits.hours, _least_size(program)]), 1.0)
    best, found = prices, reply(program, prices)
    now, answer, pace, stale = best, found, 1.0, 0
    for _ in range(steps):
        slope = answer.slack / size
        slope = np.where((now.all <= 0) & (slope > 0), 0.0, slope)
        length = float(slope @ slope)
        if length <= 0:
            break
        step = pace * max(answer.bound - target, 1e-6 * abs(answer.bound)) / length
        now = Prices.of(now.all - step * slope / size, program)
        answer = reply(program, now)
        if answer.bound < found.bound:
            stale = 0 if answer.bound < found.bound - 1e-5 * abs(found.bound) else stale + 1
            best, found = now, answer
        else:
            stale += 1
        if stale >= 6:
            now, answer, pace, stale = best, found, pace / 2, 0
            if pace < 1e-4:
                break
    return best, found


def _least_size(program: Program) -> Floats:
    limits = program.limits
    size: Floats = np.maximum(limits.least, limits.least_share * limits.money.sum())
    return size
