"""What was predicted beside what was found, height by height: errors, intervals, thresholds, likelihood."""

from dataclasses import replace

import pytest

from assessments.methods.calibration import fit
from assessments.methods.dissection import Rebuilt, read, rebuild
from assessments.methods.findings import Finding, TreeFacts
from assessments.methods.problems import MethodProblem
from assessments.methods.section import Reading, Section, circle
from assessments.methods.truth import Predicted, Thresholds, compare, estimate_of, method_of, rows, species_group
from tests.assessments.methods.dissection.stems import lime


def stem(*walls: float, first: float = 0.5, step: float = 0.2) -> Rebuilt:
    """A stem of 80 cm with concentric cavities that leave these walls; 40 is sound."""
    cuts = [
        {"height_m": first + step * n, "diameter_cm": 80, "cavities": [{"diameter_cm": 80 - 2 * w}] if w < 40 else []}
        for n, w in enumerate(walls)
    ]
    return rebuild(read({"cuts": cuts}))


def measured(wall: float, height: float = 0.5, error: float = 1.0) -> Section:
    readings = tuple(Reading(float(azimuth), wall, None, error) for azimuth in range(0, 360, 45))
    return Section(circle(80.0), readings, height_m=height, draws=100)


def test_a_right_prediction_has_no_error_and_its_interval_holds() -> None:
    found = compare(stem(14.0), Predicted((measured(14.0),), ("drilling",)))
    (one,) = found.heights
    assert one.predicted.basis == "measured"
    assert one.error == pytest.approx(0, abs=0.003)
    assert one.loss_error == pytest.approx(0, abs=0.2)
    assert one.overlap_iou == pytest.approx(1, abs=0.01)
    assert one.held()
    assert one.held(95)
    assert found.verdict == "right_not_crossed"


@pytest.mark.parametrize(
    ("read_wall", "true_wall", "verdict"),
    [(16, 15, "right_not_crossed"), (9, 8, "right_crossed"), (16, 8, "missed"), (9, 16, "false_alarm")],
)
def test_the_verdict_says_whether_the_stated_threshold_was_truly_crossed(
    read_wall: float, true_wall: float, verdict: str
) -> None:
    found = compare(stem(true_wall), Predicted((measured(read_wall),)))
    assert found.verdict == verdict
    assert (found.heights[0].chance or 0) == pytest.approx(float(read_wall < 12), abs=0.2)


def test_a_wall_read_too_thick_is_an_error_downward_outside_its_interval() -> None:
    (one,) = compare(stem(10.0), Predicted((measured(20.0),))).heights
    assert one.error == pytest.approx(10 / 40 - 20 / 40, abs=0.005)
    assert one.held(95) is False
    assert one.loss_held(95) is False


def test_of_a_tree_that_nobody_had_inspected_no_verdict_is_given() -> None:
    assert compare(stem(8.0), Predicted()).verdict == "not_stated"


def test_other_thresholds_are_the_citys_to_state() -> None:
    strict = Predicted((measured(14.0),), thresholds=Thresholds(t_over_r=0.4))
    assert compare(stem(14.0), strict).verdict == "right_crossed"


def test_away_from_the_measured_section_the_interval_is_wider_and_the_basis_says_so() -> None:
    found = compare(stem(12, 12, 12), Predicted((measured(12.0, 0.5), measured(12.0, 0.9))))
    assert [one.predicted.basis for one in found.heights] == ["measured", "between", "measured"]
    at, between = (one.predicted.wall for one in found.heights[:2])
    assert at is not None
    assert between is not None
    assert between.high - between.low > at.high - at.low


def test_without_a_section_a_sign_with_a_wall_predicts_and_one_without_only_suspects() -> None:
    tree = TreeFacts(dbh_cm=80)
    cavity = Finding("cavity", "stem", 80.0, 0.5, 10, {"shell_cm": 12.0, "depth_cm": 20})
    (one,) = compare(stem(12.0), Predicted(findings=(cavity,), tree=tree)).heights
    assert one.predicted.wall is not None
    assert one.predicted.basis == "signs"
    assert one.predicted.wall.best == pytest.approx(0.3)
    body = Finding("fruiting_body", "stem", None, 0.5)
    (two,) = compare(stem(12.0), Predicted(findings=(body,), tree=tree)).heights
    assert (two.predicted.hollow, two.predicted.wall, two.error, two.held()) == (True, None, None, None)


def test_the_likelihood_found_is_that_of_the_published_classes_for_the_wall_found() -> None:
    # USDA NA-TP-03-03: less than 1 in of sound wall for each 6 in of diameter is the worst class.
    thin = compare(stem(8.0), Predicted(likelihood="possible", tree=TreeFacts(dbh_cm=80)))
    assert (thin.likelihood_predicted, thin.likelihood_found) == ("possible", "probable")
    assert compare(stem(40.0), Predicted()).likelihood_found is None


def test_the_summary_is_over_the_heights_that_had_a_figure() -> None:
    found = compare(stem(12, 14), Predicted((measured(12.0),)))
    assert found.summary.compared == 2
    errors = [one.error for one in found.heights]
    assert found.summary.mean_error == pytest.approx(sum(e for e in errors if e is not None) / 2)
    assert compare(stem(12.0), Predicted()).summary.held80 is None


def test_rows_for_the_calibration_carry_sign_method_group_and_reason() -> None:
    body = Finding("fruiting_body", "stem", None, 0.5)
    found = compare(stem(12.0), Predicted((measured(14.0),), ("drilling",), (body,)))
    (row,) = rows(found, "tree-1", "utility", species_group("Tilia cordata"))
    assert (row.sign, row.method, row.group, row.reason) == ("fruiting_body", "drilling", "strong_walling", "utility")
    assert row.estimated == pytest.approx(14 / 40, abs=0.003)
    assert row.found == pytest.approx(12 / 40, abs=0.003)


def test_a_figure_drawn_out_far_beyond_the_last_section_teaches_nothing() -> None:
    found = compare(stem(12, 20, 30, 40, 40, step=0.3), Predicted((measured(12.0),)))
    assert len(rows(found, "t", "pest", "unlisted")) == 2  # at the section and 0.3 m above it


def test_what_nobody_suspected_counts_as_estimated_sound_and_what_nobody_saw_not_at_all() -> None:
    lean = Finding("lean", "stem", measures={"type": "natural", "angle_deg": 5})
    seen = rows(compare(stem(12.0), Predicted(findings=(lean,))), "t", "pest", "unlisted")
    assert [row.estimated for row in seen] == [1.0]
    assert rows(compare(stem(12.0), Predicted()), "t", "pest", "unlisted") == ()


def test_an_unknown_reason_is_refused() -> None:
    with pytest.raises(MethodProblem):
        rows(compare(stem(12.0), Predicted((measured(12.0),))), "t", "boredom", "unlisted")


def test_the_estimate_of_a_standing_tree_is_made_as_that_of_a_felled_one() -> None:
    body = Finding("fruiting_body", "stem", None, 0.5)
    section = measured(14.0)
    (row,) = rows(compare(stem(12.0), Predicted((section,), ("drilling",), (body,))), "t", "pest", "unlisted")
    estimate = estimate_of(section, (body,), "unlisted", "drilling")
    assert (estimate.fraction, estimate.spread, estimate.sign) == (row.estimated, row.spread, row.sign)


def test_the_method_of_a_section_is_the_commonest_of_its_readings() -> None:
    readings = [{"method": "acoustic"}, {"method": "drilling"}, {"method": "drilling"}]
    assert method_of({"readings": readings}) == "drilling"
    assert method_of({"voids_cm": [[[0, 0], [1, 0], [0, 1]]]}) == "drawn"
    assert method_of({}) == "unknown"


def test_a_tree_from_dissection_to_calibration() -> None:
    stem_ = rebuild(read(lime()))
    section = Section(circle(57.0), measured(9.0).readings, height_m=0.5, draws=60)
    found = rows(compare(stem_, Predicted((section,), ("drilling",))), "t", "predicted_weakness", "strong_walling")
    assert 3 <= len(found) <= 8
    assert fit(found).trees == 1


def test_more_draws_of_the_section_do_not_move_its_best_estimate() -> None:
    few, many = (compare(stem(12.0), Predicted((replace(measured(14.0), draws=n),))) for n in (20, 200))
    assert few.heights[0].error == many.heights[0].error
