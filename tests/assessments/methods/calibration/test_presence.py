"""Presence and absence of hidden defects: counted by tree, and only from trees that can tell."""

import pytest

from assessments.methods.calibration import Row, presence

SOUND, HOLLOW = 1.0, 0.4


def row(tree: str, estimated: float | None, found: float, reason: str = "random_sample", sign: str = "none") -> Row:
    return Row(tree, estimated, found, reason, sign)


def test_shares_follow_the_counts_with_a_uniform_prior() -> None:
    rows = [row(f"a{n}", HOLLOW, HOLLOW) for n in range(6)] + [row(f"b{n}", SOUND, HOLLOW) for n in range(2)]
    found = presence(rows)
    assert found.sensitivity.value == pytest.approx(7 / 10)  # Beta(1 + 6, 1 + 2)
    assert (found.sensitivity.right, found.sensitivity.trees) == (6, 8)
    assert found.negative_predictive_value.value == pytest.approx(1 / 4)


def test_a_tree_counts_once_however_many_cuts_it_has() -> None:
    rows = [row("a", HOLLOW, HOLLOW)] * 20 + [row("b", HOLLOW, SOUND)]
    found = presence(rows).predictive_value
    assert (found.right, found.trees) == (1.0, 2)
    assert found.value == pytest.approx(0.5)


def test_trees_opened_because_they_were_judged_bad_tell_nothing_of_sensitivity() -> None:
    rows = [row(f"a{n}", HOLLOW, HOLLOW, "predicted_weakness") for n in range(30)]
    found = presence(rows)
    assert found.sensitivity.trees == 0
    assert (found.sensitivity.low95, found.sensitivity.high95) == pytest.approx((0.025, 0.975), abs=1e-3)
    assert found.predictive_value.trees == 30


def test_storm_failures_count_nowhere() -> None:
    found = presence([row(f"a{n}", SOUND, HOLLOW, "storm_failure") for n in range(9)])
    assert {found.sensitivity.trees, found.predictive_value.trees, found.negative_predictive_value.trees} == {0}


def test_a_sign_seen_once_is_drawn_to_the_whole() -> None:
    rows = [row(f"a{n}", HOLLOW, HOLLOW, sign="cavity") for n in range(40)] + [row("b", HOLLOW, SOUND, sign="seam")]
    by_sign = dict(presence(rows).by_sign)
    assert 0.5 < by_sign["seam"].value < by_sign["cavity"].value
    assert by_sign["seam"].high95 - by_sign["seam"].low95 > by_sign["cavity"].high95 - by_sign["cavity"].low95


def test_a_hollow_suspected_without_a_figure_counts_as_predicted() -> None:
    assert presence([row("a", None, HOLLOW)]).sensitivity.right == 1
