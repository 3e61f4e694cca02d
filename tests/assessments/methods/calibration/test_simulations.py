"""The calibration on invented cities whose truth is known: coverage, selection, nothing to learn, speed.

Seeds were fixed before any result was seen. Worlds that break the model are reported by `deploy.bench calibration`.
"""

import time

import numpy as np
import pytest

from assessments.methods.calibration import fit
from deploy.bench import calibration as bench
from deploy.bench import worlds
from deploy.bench.calibration import SEED, SIMULATIONS, Coverage


@pytest.fixture(scope="module")
def right() -> Coverage:
    return bench.coverage(SIMULATIONS, SEED)


def test_intervals_of_new_trees_hold_what_they_say_averaged_over_groups(right: Coverage) -> None:
    in95, in80 = right.new_trees.mean(1)
    assert 93.5 <= in95 <= 96.5
    assert 77.0 <= in80 <= 83.0


@pytest.mark.parametrize("factor", range(6))
def test_intervals_of_intercept_slope_and_effects_hold_what_they_say(right: Coverage, factor: int) -> None:
    of = right.coefficients[:, factor == worlds.FACTOR].mean(1)
    assert 93.5 <= of[0] <= 96.5
    assert 77.0 <= of[1] <= 83.0


def test_the_weighted_draws_of_the_posterior_are_worth_most_of_their_number(right: Coverage) -> None:
    assert right.effective_draws > 200  # of 384


@pytest.fixture(scope="module")
def selected() -> Coverage:
    return bench.coverage(800, SEED, choose=bench.by_estimate)


def test_opening_only_trees_judged_bad_leaves_intercept_and_slope_unbiased(selected: Coverage) -> None:
    assert np.abs(selected.mean_error).max() < 0.03
    assert selected.slope_of_truth == pytest.approx([1.0, 1.0], abs=0.1)


def test_intervals_hold_for_the_whole_city_although_only_trees_judged_bad_were_opened(selected: Coverage) -> None:
    in95, in80 = selected.new_trees.mean(1)
    assert 93.5 <= in95 <= 96.5
    assert 77.0 <= in80 <= 83.0


def test_a_given_bias_and_slope_are_found_again_from_trees_judged_bad() -> None:
    line, spread = bench.fixed_line(100, SEED, bench.by_estimate)
    assert line == pytest.approx([0.4, 0.8], abs=0.03)
    assert spread.max() < 0.1


def test_selection_on_the_truth_would_bias_the_fit_which_is_why_storm_failures_are_never_pooled() -> None:
    line, _ = bench.fixed_line(100, SEED, bench.by_truth)
    assert line[0] < 0.4 - 0.05


def test_without_a_dissected_tree_nothing_is_changed() -> None:
    assert bench.nothing_to_learn(0, 2, SEED) == {"80": 1.0, "95": 1.0}


@pytest.mark.parametrize("trees", [20, 100])
def test_where_there_is_nothing_to_learn_a_correction_costs_at_most_5_percent_of_the_score(trees: int) -> None:
    ratio = bench.nothing_to_learn(trees, 30, SEED)
    assert max(ratio.values()) <= 1.05


def test_a_fit_of_500_trees_takes_far_less_than_two_seconds_of_processor_time() -> None:
    rows = bench.right_rows(np.random.default_rng(SEED), 500, 8, 0.2)
    began = time.process_time()
    fit(rows)
    assert time.process_time() - began < 2.0
