"""What lies around a plan: benefit against budget, what one more unit buys, why not this tree, locks, two plans."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from assessments.methods.problems import MethodProblem

from .prices import losses, reply
from .problem import Floats, Ints, Program
from .solve import Effort, Plan, Progress, silent, solve

SHARES: Final = (0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0)
"""Of the budgets there are: the points of the curve."""


@dataclass(frozen=True)
class Point:
    """One point of the curve: all budgets times `share`, and the plan for that. Not feasible: must-do costs more."""

    share: float
    money: float
    plan: Plan


def curve(
    program: Program,
    shares: Sequence[float] = SHARES,
    effort: Effort | None = None,
    progress: Progress = silent,
) -> tuple[Point, ...]:
    """Benefit against budget: each point begins from the plan before it, so none is worse than a cheaper one."""
    points: list[Point] = []
    start = prices = None
    for done, share in enumerate(sorted(shares)):
        progress(done, len(shares), "curve")
        money = program.limits.money * share
        plan = solve(with_money(program, money), effort, start=start, prices=prices, progress=progress)
        if plan.feasible:
            start, prices = plan.picked, plan.prices
        points.append(Point(share, float(money.sum()), plan))
    return tuple(points)


def with_money(program: Program, money: Floats) -> Program:
    """The same with other budgets."""
    return replace(program, limits=replace(program.limits, money=money))


def with_hours(program: Program, hours: Floats) -> Program:
    """The same with other crew hours."""
    return replace(program, limits=replace(program.limits, hours=hours))


@dataclass(frozen=True)
class OneMore:
    """What `step` more of a limit buys: by its price, and found by planning again (not less than 0).

    `most`: what is proven that it cannot exceed. The truth lies between 0 and `most`; `found` is one plan's.
    """

    kind: str
    row: int
    step: float
    by_price: float
    found: float
    most: float


def one_more(program: Program, plan: Plan, kind: str, row: int, step: float, effort: Effort | None = None) -> OneMore:
    """Plan again with `step` more money or crew hours (`kind` money or hours) in a row, from the plan there is."""
    if kind not in ("money", "hours"):
        raise MethodProblem("/kind", "must be money or hours")
    there, price = getattr(program.limits, kind).copy(), getattr(plan.prices, kind)
    if not 0 <= row < len(there):
        raise MethodProblem("/row", f"must lie from 0 to {len(there) - 1}")
    there[row] += step
    larger = with_money(program, there) if kind == "money" else with_hours(program, there)
    again = solve(larger, effort, start=plan.picked, prices=plan.prices)
    return OneMore(
        kind, row, step, float(price[row] * step), again.benefit - plan.benefit, max(again.bound - plan.benefit, 0.0)
    )


@dataclass(frozen=True)
class Alternative:
    """One column of a tree against what the prices would choose. `loss`: how far it is from being worth it.

    It would be, at the margin, with `benefit_needed`, at `cost_needed`, or if money's price fell to `price_needed`
    (None: no change of that alone does it). A loss of 0 and not chosen: as good as the last that was chosen.
    """

    column: int
    chosen: bool
    loss: float
    benefit_needed: float
    cost_needed: float | None
    price_needed: float | None


def why(program: Program, plan: Plan, tree: int) -> tuple[Alternative, ...]:
    """Every column of a tree, the nearest to being chosen first: what would have to change for it."""
    if not 0 <= tree < program.trees:
        raise MethodProblem("/tree", f"must lie from 0 to {program.trees - 1}")
    lost, _ = losses(program, plan.prices, reply(program, plan.prices))
    first, end = np.searchsorted(program.columns.tree, [tree, tree + 1]).tolist()
    chosen = set(plan.picked[(plan.picked >= first) & (plan.picked < end)].tolist())
    found = [_alternative(program, plan, place, float(lost[place]), place in chosen) for place in range(first, end)]
    return tuple(sorted(found, key=lambda one: (not one.chosen, one.loss, one.column)))


def _alternative(program: Program, plan: Plan, place: int, loss: float, chosen: bool) -> Alternative:
    columns = program.columns
    cost, budget = float(columns.cost[place]), int(columns.budget[place])
    price = float(plan.prices.money[budget]) if budget >= 0 else 0.0
    cheaper = cost - loss / price if price > 0 and loss <= price * cost else None
    lower = price - loss / cost if cheaper is not None and cost > 0 else None
    return Alternative(place, chosen, loss, float(columns.benefit[place]) + loss, cheaper, lower)


def solve_locked(
    program: Program,
    kept: Ints,
    barred: Ints,
    effort: Effort | None = None,
    *,
    plan: Plan | None = None,
    progress: Progress = silent,
) -> Plan:
    """Plan again with columns that are `kept` and trees that are `barred` from any. `plan`: the one before.

    Raises MethodProblem where a tree is kept twice, kept and barred, or must be worked on and is barred.
    """
    locked, places = lock(program, kept, barred)
    start = np.flatnonzero(np.isin(places, plan.picked)) if plan else None
    prices = plan.prices if plan else None
    found = solve(locked, effort, start=start, prices=prices, progress=progress)
    return replace(found, picked=places[found.picked])


def lock(program: Program, kept: Ints, barred: Ints) -> tuple[Program, Ints]:
    """The program with `kept` columns forced and `barred` trees out; also the place each column had before."""
    columns = program.columns
    if len(kept) and not (kept.min() >= 0 and kept.max() < len(columns)):
        raise MethodProblem("/kept", "must be columns of the program")
    if len(barred) and not (barred.min() >= 0 and barred.max() < program.trees):
        raise MethodProblem("/barred", "must be trees of the program")
    forced, out = np.zeros(program.trees, bool), np.zeros(program.trees, bool)
    forced[columns.tree[kept]], out[barred] = True, True
    if forced.sum() != len(kept):
        raise MethodProblem("/kept", "must name one column a tree")
    if (out & (forced | program.must)).any():
        raise MethodProblem("/barred", "must not name a tree that must be worked on or is kept")
    stays = ~out[columns.tree] & ~forced[columns.tree]
    stays[kept] = True
    return replace(program, columns=columns.chosen(stays), must=program.must | forced), np.flatnonzero(stays)


@dataclass(frozen=True)
class Difference:
    """From one plan to another: trees that come in, go out, or get another work; benefit, money and hours by row."""

    added: Ints
    dropped: Ints
    changed: Ints
    benefit: float
    money: Floats
    hours: Floats


def compare(program: Program, before: Plan, after: Plan) -> Difference:
    """Two plans of one program."""
    old, new = _by_tree(program, before), _by_tree(program, after)
    money, hours = (
        later - earlier for earlier, later in zip(program.used(before.picked), program.used(after.picked), strict=True)
    )
    return Difference(
        np.flatnonzero((old < 0) & (new >= 0)),
        np.flatnonzero((old >= 0) & (new < 0)),
        np.flatnonzero((old >= 0) & (new >= 0) & (old != new)),
        after.benefit - before.benefit,
        money,
        hours,
    )


def _by_tree(program: Program, plan: Plan) -> Ints:
    found = np.full(program.trees, -1, np.int64)
    found[program.columns.tree[plan.picked]] = plan.picked
    return found
