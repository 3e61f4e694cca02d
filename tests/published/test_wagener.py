"""Wagener 1963: strength loss = 100 (d/D)^3, threshold 33 %; values recomputed from the published formula."""

import pytest

from assessments.methods.section import compute
from assessments.methods.section.rules import wagener_percent
from tests.assessments.methods.section.shapes import cracks, even_readings, ring


@pytest.mark.parametrize(
    ("t_over_r", "loss"),
    [(0.70, 2.7), (0.60, 6.4), (0.50, 12.5), (0.40, 21.6), (1 / 3, 29.6), (0.30, 34.3), (0.20, 51.2), (0.10, 72.9)],
)
def test_the_loss_of_a_concentric_hollow_follows_the_cube(t_over_r: float, loss: float) -> None:
    rule = compute({"diameter_cm": 80, "readings": even_readings(40 * t_over_r), "draws": 0})["rules"]["wagener"]
    assert rule["applies"]
    assert rule["value"] == pytest.approx(loss, abs=0.06)
    assert rule["beyond"] is (loss >= 33)


def test_a_stem_of_80_with_a_hollow_of_50_loses_24_41_percent() -> None:
    assert float(wagener_percent(50 / 80)) == pytest.approx(24.41, abs=0.005)


def test_the_threshold_of_33_percent_is_at_a_wall_of_0_1545_of_the_diameter() -> None:
    assert float(wagener_percent(1 - 2 * 0.1545)) == pytest.approx(33.0, abs=0.05)


@pytest.mark.parametrize(
    ("request_", "reason"),
    [
        ({"readings": even_readings(15), "openings": [{"azimuth_deg": 0, "width_cm": 10}]}, "open"),
        ({"readings": even_readings(15), "cracks": cracks(0, inner=25)}, "cracks"),
        ({"voids_cm": [ring(20, (12, 0))]}, "off centre"),
        ({"voids_cm": [ring(8, (-12, 0)), ring(8, (12, 0))]}, "2 voids"),
        ({}, "nothing was measured"),
    ],
)
def test_outside_its_range_it_says_that_it_does_not_apply_and_why(request_: dict[str, object], reason: str) -> None:
    rule = compute({"diameter_cm": 80, "draws": 0, **request_})["rules"]["wagener"]
    assert not rule["applies"]
    assert rule["value"] is None
    assert rule["why"].startswith("does not apply because")
    assert reason in rule["why"]
