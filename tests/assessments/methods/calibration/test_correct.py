"""A correction is applied inside the range dissected only, says by how many trees, and keeps the uncorrected figure."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.calibration import Calibration, Estimate, correct, correct_all, corrected_loss, fit
from assessments.methods.problems import MethodProblem
from assessments.methods.section import Reading, Section, assess, circle
from tests.assessments.methods.calibration.test_fit import biased


@pytest.fixture(scope="module")
def learnt() -> Calibration:
    return fit(biased(40, 0.5))


def test_a_correction_says_by_how_many_trees_and_shows_the_uncorrected_figure(learnt: Calibration) -> None:
    found = correct(learnt, Estimate(0.3, 0.3, "seam"))
    assert found.said.startswith("Corrected by 40 dissected trees: t/R ")
    assert "uncorrected t/R 0.30" in found.said
    assert found.uncorrected.best == 0.3


@pytest.mark.parametrize(
    ("fraction", "reason"), [(0.005, "outside the range dissected"), (0.97, "outside the range"), (1.0, "wholly sound")]
)
def test_outside_the_range_dissected_nothing_is_corrected_and_the_answer_says_so(
    learnt: Calibration, fraction: float, reason: str
) -> None:
    found = correct(learnt, Estimate(fraction, 0.3, "seam"))
    assert not found.applied
    assert found.figure == found.uncorrected
    assert reason in found.why
    assert found.said.startswith("Not corrected")


def test_four_trees_correct_nothing_and_five_do() -> None:
    rows = biased(5, 0.5)
    estimate = Estimate(0.35, 0.3, "seam")
    assert not correct(fit(rows[:24]), estimate).applied
    assert correct(fit(rows), estimate).applied


def test_a_sign_never_dissected_is_corrected_less_surely_and_the_answer_says_so(learnt: Calibration) -> None:
    known, unknown = (correct(learnt, Estimate(0.3, 0.3, sign)) for sign in ("seam", "canker"))
    assert unknown.figure.high95 - unknown.figure.low95 > known.figure.high95 - known.figure.low95
    assert any("'canker'" in note for note in unknown.notes)
    assert not any("sign" in note for note in known.notes)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 0.8), st.floats(0.05, 2.0))
def test_intervals_lie_in_order_inside_0_to_1_and_widen_with_the_stated_spread(fraction: float, spread: float) -> None:
    learnt = _learnt()
    found = correct(learnt, Estimate(fraction, spread, "seam")).figure
    assert 0 < found.low95 < found.low < found.best < found.high < found.high95 < 1
    wider = correct(learnt, Estimate(fraction, min(spread * 1.5, 2.0), "seam")).figure
    assert wider.high95 - wider.low95 >= found.high95 - found.low95 - 1e-9


_KEPT: list[Calibration] = []


def _learnt() -> Calibration:
    if not _KEPT:
        _KEPT.append(fit(biased(40, 0.5)))
    return _KEPT[0]


def test_many_are_corrected_as_each_alone(learnt: Calibration) -> None:
    estimates = [Estimate(f, 0.3, sign) for f in (0.2, 0.4, 1.0) for sign in ("seam", "none")]
    for together, estimate in zip(correct_all(learnt, estimates), estimates, strict=True):
        alone = correct(learnt, estimate)
        assert together.applied == alone.applied
        assert together.figure.best == pytest.approx(alone.figure.best, abs=1e-9)


def test_a_fraction_beyond_1_is_refused(learnt: Calibration) -> None:
    with pytest.raises(MethodProblem):
        correct(learnt, Estimate(1.01))


def test_the_loss_moves_with_the_wall(learnt: Calibration) -> None:
    walls = tuple(Reading(float(azimuth), 12.0) for azimuth in range(0, 360, 45))
    section = Section(circle(80.0), walls, draws=0)
    corrected = correct(learnt, Estimate(assess(section).t_over_r, 0.3, "seam"))
    loss = corrected_loss(section, corrected)
    assert loss is not None
    # Concentric: the exact loss is (1 - t/R)^4 (Coder 1989).
    assert loss.best_estimate == pytest.approx(100 * (1 - corrected.figure.best) ** 4, abs=0.1)
    assert loss.high95 == pytest.approx(100 * (1 - corrected.figure.low95) ** 4, abs=0.1)
    assert loss.low95 <= loss.low <= loss.best_estimate <= loss.high <= loss.high95


def test_without_readings_or_without_a_correction_the_loss_is_left_alone(learnt: Calibration) -> None:
    corrected = correct(learnt, Estimate(0.3, 0.3, "seam"))
    assert corrected_loss(Section(circle(80.0)), corrected) is None
    section = Section(circle(80.0), (Reading(0.0, 12.0),))
    assert corrected_loss(section, replace(corrected, applied=False)) is None


def test_the_correction_is_the_same_each_time(learnt: Calibration) -> None:
    again = fit(biased(40, 0.5))
    assert np.array_equal(again.points.mean, learnt.points.mean)


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, "no tree was dissected"), (1, "only 1 tree was dissected"), (3, "only 3 trees were dissected")],
)
def test_too_few_trees_correct_nothing_and_are_counted_in_plain_words(count: int, said: str) -> None:
    found = correct(fit(biased(count, 0.5)), Estimate(0.3, 0.3, "seam"))
    assert not found.applied
    assert found.why == f"{said}, 5 are needed"
