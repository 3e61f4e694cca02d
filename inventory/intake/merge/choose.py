"""Who goes with whom among candidates: mutual nearest neighbours with a clear lead, never a guess."""

from dataclasses import dataclass

import numpy as np

from inventory.intake.merge.ground import Pairs
from inventory.intake.table import Floats, Ints

# The best must lead the second best by this much, on both sides (the project's choice).
LEAD_M, LEAD_SHARE = 0.5, 0.25
MOST_ROUNDS = 20


@dataclass(frozen=True)
class Chosen:
    """Pairs that are clear (`one[i]` with `two[i]`), and those on each side that had candidates and no clear one."""

    one: Ints
    two: Ints
    unclear_one: Ints
    unclear_two: Ints


def choose(pairs: Pairs, cost: Floats, sizes: tuple[int, int]) -> Chosen:
    """Take the clear pairs, free their rivals, and again, until nothing is clear any more.

    The order of the candidates does not matter: equal costs are never clear.
    """
    free_one, free_two = np.ones(sizes[0], bool), np.ones(sizes[1], bool)
    one: list[Ints] = []
    two: list[Ints] = []
    for _ in range(MOST_ROUNDS):
        clear = _leads(pairs.one, cost, sizes[0]) & _leads(pairs.two, cost, sizes[1])
        if not clear.any():
            break
        one.append(pairs.one[clear])
        two.append(pairs.two[clear])
        free_one[one[-1]] = free_two[two[-1]] = False
        left = free_one[pairs.one] & free_two[pairs.two]
        pairs, cost = pairs.only(left), cost[left]
    nobody = [np.zeros(0, np.int64)]
    return Chosen(
        np.concatenate(one or nobody), np.concatenate(two or nobody), np.unique(pairs.one), np.unique(pairs.two)
    )


def _leads(side: Ints, cost: Floats, size: int) -> np.ndarray:
    """The pairs that are the best of their place on this side, by a clear lead over its second best."""
    if not len(side):
        return np.zeros(0, bool)
    order = np.lexsort((cost, side))
    first = np.ones(len(side), bool)
    first[1:] = side[order][1:] != side[order][:-1]
    best = np.full(size, np.inf)
    best[side[order][first]] = cost[order][first]
    second = np.full(size, np.inf)
    runner_up = np.zeros(len(side), bool)
    runner_up[1:] = ~first[1:] & first[:-1]
    second[side[order][runner_up]] = cost[order][runner_up]
    clear = second >= best * (1 + LEAD_SHARE) + LEAD_M
    return np.asarray((cost == best[side]) & clear[side])
