"""Smiley & Fraedrich 1992: loss = 100 [d^3 + r (D^3 - d^3)] / D^3, r = opening / circumference; threshold 33 %."""

import math

import pytest

from assessments.methods.section import compute
from assessments.methods.section.rules import smiley_fraedrich_percent, wagener_percent
from tests.assessments.methods.section.shapes import even_readings


@pytest.mark.parametrize(("share", "loss"), [(0.10, 31.97), (0.15, 35.75), (0.25, 43.31)])
def test_a_stem_of_80_with_a_hollow_of_50_and_an_opening(share: float, loss: float) -> None:
    assert float(smiley_fraedrich_percent(50 / 80, share)) == pytest.approx(loss, abs=0.005)


@pytest.mark.parametrize(("share", "loss"), [(0, 21.60), (0.1, 29.44), (0.2, 37.28), (0.25, 41.20), (0.3, 45.12)])
def test_a_hollow_of_six_tenths_with_openings(share: float, loss: float) -> None:
    assert float(smiley_fraedrich_percent(0.6, share)) == pytest.approx(loss, abs=0.005)


def test_without_an_opening_it_is_wageners_and_opened_all_round_everything_is_lost() -> None:
    assert float(smiley_fraedrich_percent(0.55, 0)) == pytest.approx(float(wagener_percent(0.55)))
    assert float(smiley_fraedrich_percent(0.55, 1)) == pytest.approx(100)


def test_the_share_of_the_circumference_comes_from_the_straight_width_of_the_gap() -> None:
    share = 0.10
    width = 80 * math.sin(math.pi * share)  # chord of the arc
    answer = compute(
        {
            "diameter_cm": 80,
            "readings": even_readings(15),
            "openings": [{"azimuth_deg": 75, "width_cm": width}],
            "draws": 0,
        }
    )
    assert answer["rules"]["smiley_fraedrich"]["value"] == pytest.approx(31.97, abs=0.15)
    assert answer["rules"]["wagener"]["value"] is None
