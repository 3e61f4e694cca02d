"""Mutual nearest neighbours with a clear lead: one to one, whatever the order, and never between equals."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake.merge.choose import choose
from inventory.intake.merge.ground import Pairs

places = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(0, 40)), max_size=30)


def candidates(found: list[tuple[int, int, int]]) -> tuple[Pairs, np.ndarray]:
    once = {(one, two): cost / 4 for one, two, cost in found}
    one, two = (np.array([pair[side] for pair in once], np.int64) for side in (0, 1))
    cost = np.array(list(once.values()), float)
    return Pairs(one, two, cost), cost


def taken(pairs: Pairs, cost: np.ndarray) -> set[tuple[int, int]]:
    chosen = choose(pairs, cost, (6, 6))
    return set(zip(chosen.one.tolist(), chosen.two.tolist(), strict=True))


@given(places, st.randoms())
def test_the_order_of_the_candidates_never_matters(found: list[tuple[int, int, int]], chance: object) -> None:
    pairs, cost = candidates(found)
    order = np.arange(len(cost))
    chance.shuffle(order)  # type: ignore[attr-defined]
    assert taken(pairs.only(order), cost[order]) == taken(pairs, cost)


@given(places)
def test_everyone_is_taken_once_at_most_and_unclear_ones_are_free(found: list[tuple[int, int, int]]) -> None:
    pairs, cost = candidates(found)
    chosen = choose(pairs, cost, (6, 6))
    assert len(set(chosen.one.tolist())) == len(chosen.one)
    assert len(set(chosen.two.tolist())) == len(chosen.two)
    assert not set(chosen.one.tolist()) & set(chosen.unclear_one.tolist())
    assert not set(chosen.two.tolist()) & set(chosen.unclear_two.tolist())


def test_two_that_are_equally_near_are_unclear() -> None:
    pairs, cost = candidates([(0, 0, 4), (0, 1, 4)])
    chosen = choose(pairs, cost, (6, 6))
    assert len(chosen.one) == 0
    assert chosen.unclear_one.tolist() == [0]
    assert chosen.unclear_two.tolist() == [0, 1]


def test_a_rival_that_is_clearly_another_ones_is_none() -> None:
    """Row 0 lies 1 m from tree 0 and 1.25 m from tree 1; row 1 lies on tree 1."""
    assert taken(*candidates([(0, 0, 4), (0, 1, 5), (1, 1, 0)])) == {(0, 0), (1, 1)}
