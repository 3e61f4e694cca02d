"""Agreement between assessors and each one's own record: for learning, never as a ranking."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.agreement import Judged, Rated, agreement, fleiss, kappa, kappa_of, records, wilson
from assessments.methods.risk import FAILURE

TABLE = st.lists(st.lists(st.integers(0, 9), min_size=4, max_size=4), min_size=4, max_size=4).filter(
    lambda rows: sum(map(sum, rows)) > 0
)


@given(TABLE, st.sampled_from(["none", "linear", "quadratic"]))
def test_kappa_is_at_most_one_and_the_same_whoever_comes_first(table: list[list[int]], weights: str) -> None:
    one, other = kappa_of(table, weights), kappa_of(np.transpose(table), weights)
    if one is None:
        assert other is None
    else:
        assert one <= 1 + 1e-12
        assert one == pytest.approx(other)


def test_kappa_is_one_where_all_agree_and_not_defined_where_there_is_one_category_only() -> None:
    assert kappa_of(np.diag([3, 4, 5])) == 1
    assert kappa_of([[7, 0], [0, 0]]) is None
    assert kappa("aaa", "aaa", "ab").word == "not defined"


def test_a_near_miss_costs_less_than_a_far_one_with_weights() -> None:
    near, far = [[10, 2, 0], [0, 10, 0], [0, 0, 10]], [[10, 0, 2], [0, 10, 0], [0, 0, 10]]
    assert (kappa_of(near, "quadratic") or 0) > (kappa_of(far, "quadratic") or 0)


@pytest.mark.parametrize("table", [[[1, 2]], [[-1, 2], [3, 4]], [[0, 0], [0, 0]]])
def test_what_is_no_table_of_counts_is_refused(table: list[list[int]]) -> None:
    with pytest.raises(ValueError, match="table"):
        kappa_of(table)


def test_each_tree_needs_as_many_assessors_for_fleiss() -> None:
    with pytest.raises(ValueError, match="assessors"):
        fleiss([[2, 1], [1, 1]])


def test_agreement_is_over_trees_rated_by_two_or_more_and_keeps_the_last_rating() -> None:
    ratings = [
        Rated("ann", "1", "possible"), Rated("ben", "1", "possible"), Rated("ann", "2", "probable"),
        Rated("ann", "3", "possible"), Rated("ben", "3", "probable"), Rated("ben", "3", "possible"),
    ]  # fmt: skip
    found = agreement(ratings)
    assert (found.trees, found.assessors, found.pairs, found.spread) == (2, 2, 2, 0.0)


def test_the_order_of_assessors_means_nothing() -> None:
    rng = np.random.default_rng(4)
    told = [(str(tree), FAILURE[level]) for tree in range(30) for level in rng.integers(0, 4, 3)]
    forward = [Rated("abc"[n % 3], tree, level) for n, (tree, level) in enumerate(told)]
    backward = [Rated("cba"[n % 3], tree, level) for n, (tree, level) in enumerate(told)]
    one, other = agreement(forward).kappa, agreement(backward).kappa
    assert one is not None
    assert other is not None
    assert one.value == pytest.approx(other.value)
    assert abs(one.value or 0) < 0.3  # chance alone


def test_the_interval_of_kappa_holds_what_it_says() -> None:
    """Two assessors of 60 trees who agree by a known chance: about 95 intervals in 100 hold the true kappa."""
    rng = np.random.default_rng(20261125)
    truth = np.array([0.25, 0.25, 0.25, 0.25])
    table = 0.55 * np.diag(truth) + 0.45 * np.outer(truth, truth)
    true = kappa_of(1e6 * table, "quadratic")
    held = []
    for _ in range(200):
        cells = rng.choice(16, 60, p=table.ravel())
        found = kappa((cells // 4).tolist(), (cells % 4).tolist(), [0, 1, 2, 3])
        held.append((found.low95 or 0) <= (true or 0) <= (found.high95 or 0))
    assert 0.89 <= np.mean(held) <= 0.99


def test_a_record_needs_ten_trees_and_stands_in_the_order_of_names() -> None:
    rng = np.random.default_rng(1)
    judged = [Judged("zoe", str(n), 0.4, 0.4, 0.3, 0.5) for n in range(12)]
    judged += [Judged("adam", str(n), 0.4, float(rng.uniform(0, 1)), 0.39, 0.41) for n in range(12)]
    judged += [Judged("mia", "1", 0.4, 0.4)] * 30
    adam, mia, zoe = records(judged)
    assert (adam.assessor, mia.assessor, zoe.assessor) == ("adam", "mia", "zoe")
    assert (mia.trees, mia.mean_error) == (1, None)
    assert (zoe.held80, zoe.mean_error) == (1.0, 0.0)
    assert (adam.mean_absolute_error or 0) > 0.1


def test_a_tree_counts_once_in_a_record_however_many_heights_it_has() -> None:
    judged = [Judged("a", str(n), 0.4, 0.4) for n in range(9)] + [Judged("a", "9", 0.4, 0.9)] * 50
    assert records(judged)[0].mean_error == pytest.approx(0.05)


def test_stated_chances_are_scored_where_they_were_stated() -> None:
    judged = [Judged("a", str(n), 0.4, 0.2, chance=0.9, crossed=True) for n in range(10)]
    brier = records([*judged, Judged("a", "10", 0.4, 0.2)])[0].brier
    assert brier is not None
    assert brier.count == 10
    assert brier.score == pytest.approx(0.01)


def test_the_interval_of_a_share_stays_inside_0_to_1() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    assert wilson(5, 5)[1] == 1.0
