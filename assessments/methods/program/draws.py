"""How far a plan rests on the map of words: planned again under drawn maps, scored under others, class inversions."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from assessments.methods.problems import MethodProblem

from .prices import Prices, descend
from .problem import Floats, Ints, Program
from .solve import Plan, Progress, silent

DRAWS: Final = 500
STEPS: Final = 4
STEADY: Final = 0.9


@dataclass(frozen=True)
class Steadiness:
    """Over so many draws: by tree the share of them that choose it (`chosen`), and how steady the plan is.

    `steady`: of the plan's trees, the share that is chosen in at least 90 % of the draws. Draws are answered by prices:
    near the limits, not exactly within them.
    """

    draws: int
    chosen: Floats
    steady: float


def steadiness(
    program: Program,
    plan: Plan,
    benefits: Iterable[Floats],
    *,
    steps: int = STEPS,
    progress: Progress = silent,
) -> Steadiness:
    """Plan again for each drawn array of benefits (m): the plan's prices, to scale, then a few steps of the dual."""
    count, chosen = 0, np.zeros(program.trees)
    total = float(program.columns.benefit[plan.picked].sum())
    for drawn in benefits:
        progress(count, DRAWS, "draws")
        other = _with_benefit(program, drawn)
        here = float(drawn[plan.picked].sum())
        scale = here / total if total > 0 else 1.0
        start = Prices.of(plan.prices.all * scale, program)
        _, answer = descend(other, start, here, steps)
        chosen[program.columns.tree[answer.picked]] += 1
        count += 1
    if not count:
        raise MethodProblem("/draws", "must be at least one")
    share = chosen / count
    own = share[program.columns.tree[plan.picked]]
    return Steadiness(count, share, float((own >= STEADY).mean()) if len(own) else 1.0)


def scores(program: Program, picked: Ints, maps: Mapping[str, Floats]) -> dict[str, float]:
    """What picked columns remove under each map of words: `maps` gives benefits (m) by name (low, central, high)."""
    for name, benefit in maps.items():
        _with_benefit(program, benefit, f"/maps/{name}")
    return {name: float(benefit[picked].sum()) for name, benefit in maps.items()}


def _with_benefit(program: Program, benefit: Floats, pointer: str = "/draws") -> Program:
    if benefit.shape != program.columns.benefit.shape:
        raise MethodProblem(pointer, "must hold one benefit a column")
    return replace(program, columns=replace(program.columns, benefit=benefit))


@dataclass(frozen=True)
class Inversions:
    """Chosen trees of a lower class than some tree that is left out. All arrays of one length, worst class gap first.

    `passed_over`: how many trees of a higher class are left out; `example`: the one of those with most harm.
    """

    tree: Ints
    passed_over: Ints
    example: Ints


def inversions(program: Program, picked: Ints, risk_class: Ints, harm: Floats) -> Inversions:
    """Every inversion against class order. `risk_class` (n): higher is worse; `harm` (n): per year.

    Only trees that had some work to choose count as left out.
    """
    chosen = np.zeros(program.trees, bool)
    chosen[program.columns.tree[picked]] = True
    had = np.zeros(program.trees, bool)
    had[program.columns.tree] = True
    left = np.flatnonzero(had & ~chosen)
    # By class, the highest first: those that are passed over by a tree are then the first so many.
    left = left[np.lexsort((left, -harm[left], -risk_class[left]))]
    trees = np.flatnonzero(chosen)
    over = np.searchsorted(-risk_class[left], -risk_class[trees], side="left")
    trees, over = trees[over > 0], over[over > 0]
    example = _most_harm_so_far(left, harm)[over - 1] if len(over) else trees
    order = np.lexsort((trees, risk_class[trees] - risk_class[example]))
    return Inversions(trees[order], over[order].astype(np.int64), example[order])


def _most_harm_so_far(trees: Ints, harm: Floats) -> Ints:
    """At each place the tree of most harm up to there, the first of equals."""
    values = harm[trees]
    best = np.maximum.accumulate(values)
    new = np.r_[True, values[1:] > best[:-1]]
    places = np.maximum.accumulate(np.where(new, np.arange(len(trees)), 0))
    found: Ints = trees[places]
    return found
