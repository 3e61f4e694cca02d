"""Guide for Plant Appraisal, 9th ed. 2000 and 10th ed. 2018: adjusted trunk area and trunk formula, all from memory.

The worked figures below were computed by hand from those formulas, in inches and dollars; costs are illustrative.
"""

import pytest

from assessments.methods.appraisal import adjusted_area_in2, appraise_9th, appraise_10th, trunk_area_cm2

CM2_PER_IN2 = 2.54**2


@pytest.mark.parametrize(
    ("inches", "area"), [(36, 973.6), (40, 1149.0), (60, 1865.0), (75, 2226.1), (103.43, 2496.95), (150, 2496.95)]
)
def test_adjusted_trunk_area_in_square_inches(inches: float, area: float) -> None:
    assert adjusted_area_in2(inches) == pytest.approx(area, abs=0.06)


def test_the_adjustment_leaps_down_at_30_inches() -> None:
    assert adjusted_area_in2(30) == pytest.approx(706.9, abs=0.05)
    assert adjusted_area_in2(30.0001) == pytest.approx(690.5, abs=0.05)


def test_a_trunk_of_36_inches_by_the_9th_edition() -> None:
    unit = 39.789 / CM2_PER_IN2
    found = appraise_9th(trunk_area_cm2(36 * 2.54), unit, 12.566 * CM2_PER_IN2, 1200, 0.70, 0.60, 0.70)
    assert found.basic_cost == pytest.approx(39_439.90, rel=1e-4)
    assert found.value == pytest.approx(11_595.33, rel=1e-4)
    assert "adjusted" in found.notes[0]


def test_a_trunk_of_20_inches_by_the_10th_edition() -> None:
    found = appraise_10th(trunk_area_cm2(20 * 2.54), 39.789 / CM2_PER_IN2, 0.65, 0.80, 0.90)
    assert found.basic_cost == pytest.approx(12_500, rel=1e-4)
    assert found.value == pytest.approx(5_850, rel=1e-4)
