"""Coder 1989: strength loss = 100 (d/D)^4, exact for a concentric hollow; thresholds as recalled (20, 45 %)."""

import pytest

from assessments.methods.section import compute
from assessments.methods.section.rules import coder_percent
from tests.assessments.methods.section.shapes import even_readings


@pytest.mark.parametrize(
    ("t_over_r", "loss"),
    [(0.70, 0.8), (0.60, 2.6), (0.50, 6.2), (0.40, 13.0), (1 / 3, 19.8), (0.30, 24.0), (0.25, 31.6), (0.15, 52.2)],
)
def test_the_rule_and_the_computed_section_agree_on_a_concentric_hollow(t_over_r: float, loss: float) -> None:
    answer = compute({"diameter_cm": 80, "readings": even_readings(40 * t_over_r), "draws": 0})
    assert answer["rules"]["coder"]["value"] == pytest.approx(loss, abs=0.06)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(loss, abs=0.06)


def test_a_stem_of_80_with_a_hollow_of_50_loses_15_26_percent() -> None:
    assert float(coder_percent(50 / 80)) == pytest.approx(15.26, abs=0.005)


@pytest.mark.parametrize(("loss", "d_over_d"), [(20, 0.6687), (44, 0.8145), (45, 0.8190), (50, 0.8409)])
def test_its_thresholds_lie_at_the_published_hollows(loss: float, d_over_d: float) -> None:
    assert float(coder_percent(d_over_d)) == pytest.approx(loss, abs=0.02)


def test_the_hazard_threshold_is_said_to_be_disputed() -> None:
    rule = compute({"diameter_cm": 80, "readings": even_readings(7), "draws": 0})["rules"]["coder"]
    assert rule["beyond"] is True
    assert "50 %" in rule["validity"]
