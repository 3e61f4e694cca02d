"""Mattheck et al. 1992-94: t/R at least 0.30 to 0.33 for full-crowned trees with a closed hollow."""

import pytest

from assessments.methods.section import compute
from tests.assessments.methods.section.shapes import cracks, even_readings


@pytest.mark.parametrize(("wall", "ratio", "beyond"), [(15, 0.375, False), (12.01, 0.30, False), (11.9, 0.2975, True)])
def test_t_over_r_is_the_thinnest_wall_over_the_radius(wall: float, ratio: float, beyond: bool) -> None:
    answer = compute({"diameter_cm": 80, "readings": even_readings(wall), "draws": 0})
    assert answer["t_over_r"] == pytest.approx(ratio, abs=1e-3)
    assert answer["rules"]["t_over_r"]["value"] == pytest.approx(ratio, abs=1e-3)
    assert answer["rules"]["t_over_r"]["beyond"] is beyond


def test_a_ratio_of_0_30_goes_with_49_percent_of_the_area_and_24_percent_of_the_modulus() -> None:
    answer = compute({"diameter_cm": 80, "readings": even_readings(12), "draws": 0})
    assert 100 * (1 - answer["sound_area_cm2"] / answer["gross_area_cm2"]) == pytest.approx(49, abs=0.1)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(24, abs=0.1)


@pytest.mark.parametrize(
    ("more", "reason"),
    [({"openings": [{"azimuth_deg": 0, "width_cm": 8}]}, "open"), ({"cracks": cracks(0, inner=25)}, "cracks")],
)
def test_it_is_not_for_open_or_cracked_stems(more: dict[str, object], reason: str) -> None:
    rule = compute({"diameter_cm": 80, "readings": even_readings(15), "draws": 0, **more})["rules"]["t_over_r"]
    assert not rule["applies"]
    assert reason in rule["why"]


@pytest.mark.parametrize(("width", "beyond"), [(60.0, False), (74.0, True)])
def test_an_open_cavity_is_judged_by_an_opening_of_120_degrees(width: float, beyond: bool) -> None:
    # 120 degrees of a stem of 80 cm is a chord of 69.3 cm.
    answer = compute(
        {
            "diameter_cm": 80,
            "readings": even_readings(5),
            "openings": [{"azimuth_deg": 0, "width_cm": width}],
            "draws": 0,
        }
    )
    assert answer["rules"]["open_cavity"]["beyond"] is beyond
