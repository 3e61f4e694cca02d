"""Shares, diversity and size classes of a population: laws that hold for any counts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.population import Population, diversity, size_classes, stocking

COUNTS = st.lists(st.integers(0, 10_000), min_size=1, max_size=30).filter(any)


@given(COUNTS)
def test_diversity_lies_between_one_kind_and_all_alike(counts: list[int]) -> None:
    found = diversity(counts)
    assert -1e-12 <= found.shannon_nats <= math.log(found.kinds) + 1e-9
    assert 1 / found.kinds - 1e-12 <= found.simpson <= 1
    assert found.effective >= found.inverse_simpson - 1e-6


@given(st.integers(2, 50), st.integers(1, 100))
def test_equal_counts_are_as_diverse_as_their_number(kinds: int, each: int) -> None:
    found = diversity([each] * kinds)
    assert found.effective == pytest.approx(kinds)
    assert found.inverse_simpson == pytest.approx(kinds)
    assert found.evenness == pytest.approx(1)


@given(st.lists(st.floats(0, 300), min_size=1, max_size=50))
def test_size_classes_share_out_every_tree(sizes: list[float]) -> None:
    assert sum(size_classes(sizes)) == pytest.approx(1)


def test_no_trees_have_no_share_and_no_diversity() -> None:
    assert Population(0, {}, {}, {}).share("genus", "Tilia") == 0
    assert size_classes([]) == (0.0, 0.0, 0.0, 0.0)
    assert stocking(0, 0) is None
    for counts in ([], [0], [3, -1]):
        with pytest.raises(ValueError, match="counts"):
            diversity(counts)


def test_a_single_kind_has_no_evenness() -> None:
    found = diversity([7])
    assert (found.shannon_nats, found.evenness, found.simpson) == (0.0, None, 1.0)
    assert diversity([1]).simpson_unbiased is None
