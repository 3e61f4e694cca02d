"""Small random programs, and every plan of one by enumeration: the reference that no solver shares code with."""

import itertools
from dataclasses import replace

import numpy as np

from assessments.methods.program import Limits, Program, Zones
from assessments.methods.program.problem import build


def random(
    seed: int,
    trees: int = 5,
    works: int = 2,
    quarters: int = 2,
    *,
    opening: float = 0.0,
    must: int = 0,
    least: float = 0.0,
    money: float = 0.5,
) -> Program:
    """A program of so many trees, each with works in quarters, in two zones that are districts too."""
    chance = np.random.default_rng(seed)
    tree, work, quarter = (
        each.ravel() for each in np.meshgrid(range(trees), range(works), range(quarters), indexing="ij")
    )
    cost = chance.integers(1, 20, (trees, works)).astype(float)
    hours = chance.integers(1, 10, (trees, works)).astype(float)
    benefit = chance.integers(1, 100, (trees, works)) * (1.0 - 0.1 * np.arange(quarters))[:, None, None]
    rows = {
        "tree": tree,
        "quarter": quarter,
        "benefit": benefit[quarter, tree, work],
        "cost": cost[tree, work],
        "budget": quarter,
        "hours": hours[tree, work],
        "crew": quarter,
    }
    needed = np.zeros(trees, bool)
    needed[:must] = True
    zone = np.arange(trees) % 2
    zones = Zones(zone, np.full((2, quarters), opening), np.arange(quarters))
    total = cost.mean(axis=1).sum() / quarters
    limits = Limits(
        np.full(quarters, round(total * money)),
        np.full(quarters, round(hours.mean(axis=1).sum() / quarters * money)),
        zone,
        np.full(2, least),
        np.zeros(2),
    )
    return build(rows, needed, zones, limits, quarters)[0]


def best_of_all(program: Program) -> float | None:
    """The largest benefit of any plan, by trying every one; None where no plan keeps the limits."""
    columns = program.columns
    of_tree: list[list[int]] = [[] if need else [-1] for need in program.must]
    for place, tree in enumerate(columns.tree.tolist()):
        of_tree[tree].append(place)
    best: float | None = None
    for plan in itertools.product(*of_tree):
        picked = [place for place in plan if place >= 0]
        if _allowed(program, picked):
            benefit = sum(float(columns.benefit[place]) for place in picked)
            best = benefit if best is None else max(best, benefit)
    return best


def _allowed(program: Program, picked: list[int]) -> bool:
    columns, limits, zones = program.columns, program.limits, program.zones
    money, hours = [0.0] * len(limits.money), [0.0] * len(limits.hours)
    spent, opened = [0.0] * len(limits.least), set()
    for place in picked:
        tree, quarter = int(columns.tree[place]), int(columns.quarter[place])
        money[int(columns.budget[place])] += float(columns.cost[place])
        hours[int(columns.crew[place])] += float(columns.hours[place])
        spent[int(limits.district[tree])] += float(columns.cost[place])
        opened.add((int(zones.of_tree[tree]), quarter))
    for zone, quarter in opened:
        money[int(zones.budget[quarter])] += float(zones.cost[zone, quarter])
    return (
        all(used <= limit + 1e-9 for used, limit in zip(money, limits.money, strict=True))
        and all(used <= limit + 1e-9 for used, limit in zip(hours, limits.hours, strict=True))
        and all(amount >= least - 1e-9 for amount, least in zip(spent, limits.least, strict=True))
    )


def crowded(seed: int, need: float = 1.0) -> tuple[Program, np.ndarray]:
    """Must-trees in three groups of which some cannot all be done: works in one quarter, or in either; and groups."""
    chance = np.random.default_rng(seed)
    program = random(seed, trees=9, works=2, quarters=2, must=9, opening=float(seed % 2) * 2)
    limits = program.limits
    tight = replace(
        limits,
        money=np.round(limits.money * chance.uniform(0.3, 2.5, len(limits.money)) * need),
        hours=np.round(limits.hours * chance.uniform(0.3, 2.5, len(limits.hours)) * need),
        least=np.full(2, float(seed % 3 == 0) * 20.0),
    )
    # The first three trees are due in the first quarter.
    kept = (program.columns.tree >= 3) | (program.columns.quarter == 0)
    groups = np.arange(9) // 3
    return replace(program, columns=program.columns.chosen(kept), limits=tight), groups
