"""Least sound shells: 1 in per 6 in (USDA NA-TP-03-03), 0.15 D (USDA R5/R6, from memory), 2 in per 6 in when open."""

import pytest

from assessments.methods.section import compute
from tests.assessments.methods.section.shapes import even_readings

INCH = 2.54
# Stem diameter in inches; shell at D/6 and at 0.15 D, as tabled (rounded to 0.01 in).
ROWS = [(6, 1.00, 0.90), (12, 2.00, 1.80), (24, 4.00, 3.60), (36, 6.00, 5.40), (60, 10.00, 9.00)]


@pytest.mark.parametrize(("diameter", "sixth", "fifteen"), ROWS)
def test_the_least_walls_are_the_tabled_ones(diameter: float, sixth: float, fifteen: float) -> None:
    wall = diameter / 6 * INCH
    rules = compute({"diameter_cm": diameter * INCH, "readings": even_readings(wall * 1.01), "draws": 0})["rules"]
    assert rules["shell_one_in_six"]["threshold"] / INCH == pytest.approx(sixth, abs=0.005)
    assert rules["shell_15_percent"]["threshold"] / INCH == pytest.approx(fifteen, abs=0.005)
    assert rules["shell_one_in_six"]["beyond"] is False
    thin = compute({"diameter_cm": diameter * INCH, "readings": even_readings(wall * 0.99), "draws": 0})["rules"]
    assert thin["shell_one_in_six"]["beyond"] is True


def test_the_mean_shell_asks_for_three_readings() -> None:
    rule = compute({"diameter_cm": 60, "readings": even_readings(10, 2), "draws": 0})["rules"]["shell_15_percent"]
    assert not rule["applies"]
    assert "3 wall readings" in rule["why"]


def test_beside_an_opening_twice_the_wall_is_asked_for_and_not_beyond_30_percent_of_the_circumference() -> None:
    def rules(width: float) -> dict[str, dict[str, object]]:
        opening = [{"azimuth_deg": 0, "width_cm": width}]
        answer = compute({"diameter_cm": 60, "readings": even_readings(12), "openings": opening, "draws": 0})
        return answer["rules"]

    assert rules(10)["shell_open"]["threshold"] == pytest.approx(20)
    assert rules(10)["shell_open"]["beyond"] is True
    assert not rules(10)["shell_one_in_six"]["applies"]
    assert "30 %" in str(rules(52)["shell_open"]["why"])
