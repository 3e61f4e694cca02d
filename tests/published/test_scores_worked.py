"""Worked examples of scores: Murphy 1973, Cohen 1968, Fleiss 1971, Gneiting & Raftery 2007, Garwood 1936.

The figures were computed by hand from the published formulas; Garwood's ends are from his printed table, from memory.
"""

import pytest

from assessments.methods.agreement import brier, fleiss, interval_score, kappa_of
from assessments.methods.outcomes.rates import poisson_interval

RATINGS = [[20, 5, 0, 0], [4, 30, 6, 0], [0, 5, 15, 3], [0, 0, 2, 10]]
SIX_TREES = [[5, 0, 0, 0], [0, 4, 1, 0], [0, 3, 2, 0], [1, 3, 1, 0], [0, 0, 4, 1], [0, 0, 2, 3]]


@pytest.mark.parametrize(("weights", "value"), [("none", 0.648630), ("linear", 0.761177), ("quadratic", 0.864130)])
def test_kappa_of_a_table_of_a_hundred_ratings(weights: str, value: float) -> None:
    assert kappa_of(RATINGS, weights) == pytest.approx(value, abs=1e-6)


def test_kappa_of_six_trees_and_five_assessors() -> None:
    assert fleiss(SIX_TREES) == pytest.approx(0.3750, abs=1e-6)


def test_a_brier_score_with_its_skill_and_log_loss() -> None:
    found = brier([0.9, 0.7, 0.6, 0.3, 0.2, 0.1, 0.05, 0.8], [1, 1, 0, 0, 1, 0, 0, 1])
    assert (found.score, found.skill, found.log_loss) == pytest.approx((0.1553125, 0.378750, 0.465530), abs=1e-6)


def test_three_groups_of_stated_chances_part_as_murphy_says() -> None:
    groups = ((0.1, 40, 2), (0.3, 40, 16), (0.7, 20, 14))
    chances = [p for p, count, _ in groups for _ in range(count)]
    happened = [place < events for _, count, events in groups for place in range(count)]
    found = brier(chances, happened)
    parts = (found.score, found.reliability, found.resolution, found.uncertainty)
    assert parts == pytest.approx((0.1620, 0.0050, 0.0606, 0.2176), abs=1e-6)
    assert found.skill == pytest.approx(0.255515, abs=1e-6)


def test_an_interval_is_charged_its_width_and_ten_times_what_it_misses_by_at_80_percent() -> None:
    assert float(interval_score(2.0, 5.0, 4.0, 0.8)) == pytest.approx(3.0)
    assert float(interval_score(2.0, 5.0, 6.0, 0.8)) == pytest.approx(3.0 + 10.0)
    assert float(interval_score(2.0, 5.0, 1.5, 0.95)) == pytest.approx(3.0 + 40 * 0.5)


@pytest.mark.parametrize(("count", "low", "high"), [(0, 0.0, 3.69), (1, 0.0253, 5.57), (10, 4.80, 18.39)])
def test_the_exact_interval_of_a_count(count: int, low: float, high: float) -> None:
    assert poisson_interval(count) == pytest.approx((low, high), abs=0.005)
