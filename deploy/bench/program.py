"""The yearly program of a random city: gap, CPU seconds, memory, and how far it is ahead of two simple planners.

Needs no database. It measures plans under assumed numbers, not injuries avoided.
"""

import json
import resource
import time
from typing import Any, Final

import numpy as np

from assessments.methods.program import Limits, Plan, Program, Zones, opponents, solve
from assessments.methods.program.problem import build

SEED: Final = 20_261_125
QUARTERS: Final = 4
WORKS: Final = 4
CREWS: Final = 3
ZONES: Final = 20
MUST_SHARE: Final = 0.05
MONEY_SHARE: Final = 0.35
"""Of what the dearest work on every tree would cost."""


def city(trees: int, *, openings: bool, seed: int = SEED) -> Program:
    """A program of `trees` with four works in four quarters, three crews, twenty zones, 5 % that must be done.

    Harm is spread over decades and follows the size; a work prevents a share of it; later quarters prevent less.
    """
    chance = np.random.default_rng(seed)
    size = chance.lognormal(3.4, 0.5, trees)
    harm = chance.lognormal(0.0, 1.6, trees) * size
    share = np.sort(chance.uniform(0.1, 1.0, (trees, WORKS)), axis=1)
    cost = np.sort(chance.lognormal(5.5, 0.7, (trees, WORKS)) * size[:, None] / 30, axis=1).round(2)
    hours = (cost / 90 * chance.uniform(0.6, 1.4, cost.shape)).round(2)
    crew = chance.integers(0, CREWS, (trees, WORKS))
    tree, work, quarter = np.meshgrid(np.arange(trees), np.arange(WORKS), np.arange(QUARTERS), indexing="ij")
    must = chance.uniform(size=trees) < MUST_SHARE
    # A season shuts one work of eight in a quarter; what must be done is due by the second quarter.
    shut = chance.uniform(size=tree.shape) < 1 / 8
    shut |= must[:, None, None] & (quarter > 1)
    shut[must, -1, 1] = False
    open_to = ~shut
    tree, work, quarter = tree[open_to], work[open_to], quarter[open_to]
    rows = {
        "tree": tree,
        "quarter": quarter,
        "benefit": harm[tree] * share[tree, work] * (1 - 0.08 * quarter),
        "cost": cost[tree, work],
        "budget": quarter,
        "hours": hours[tree, work],
        "crew": quarter * CREWS + crew[tree, work],
    }
    money = cost[:, -1].sum() * MONEY_SHARE / QUARTERS
    crew_hours = hours[:, -1].sum() * MONEY_SHARE / QUARTERS / CREWS
    limits = Limits(np.full(QUARTERS, money), np.full(QUARTERS * CREWS, crew_hours), np.full(trees, -1))
    opening = money / ZONES * (0.05 if openings else 0.0)
    zones = Zones(np.arange(trees) * ZONES // trees, np.full((ZONES, QUARTERS), opening), np.arange(QUARTERS))
    return build(rows, must, zones, limits, QUARTERS)[0]


def measured(trees: int, *, openings: bool) -> dict[str, Any]:
    """One plan: gap, CPU seconds, and how it compares with both opponents."""
    program = city(trees, openings=openings)
    before = time.process_time()
    plan = solve(program)
    seconds = time.process_time() - before
    return {
        "openings": openings,
        "gap": plan.gap,
        "seconds": round(seconds, 2),
        "rounds": plan.rounds,
        "feasible": plan.feasible,
        "ratio_to_worst_first": _ratio(program, plan, opponents.worst_first(program, opponents.classes(program))),
        "ratio_to_greedy": _ratio(program, plan, opponents.greedy(program)),
    }


def _ratio(program: Program, plan: Plan, picked: np.ndarray | None) -> float | None:
    """Our benefit over an opponent's; None where the opponent found no plan."""
    if picked is None:
        return None
    return plan.benefit / float(program.columns.benefit[picked].sum())


def run(scale: int, as_json: bool) -> None:
    """Measure `scale` trees without and with openings of zones."""
    plain, opened = measured(scale, openings=False), measured(scale, openings=True)
    figures = {
        "trees": scale,
        **{name: plain[name] for name in ("gap", "seconds", "ratio_to_worst_first", "ratio_to_greedy")},
        "with_openings": opened,
        "peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }
    if as_json:
        print(json.dumps(figures))
        return
    for name, each in (("without openings", plain), ("with openings", opened)):
        print(f"{scale:,} trees {name}: gap {each['gap']:.4%} in {each['seconds']} s of CPU")
        print(f"  worst first: {each['ratio_to_worst_first']}, greedy: {each['ratio_to_greedy']}")
    print(f"peak memory {figures['peak_mib']} MiB")
