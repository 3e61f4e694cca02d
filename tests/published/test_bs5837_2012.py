"""BS 5837:2012: root protection area from stem diameters.

The formulas were seen in rule extracts; that for more than 5 stems is from memory.
The figures are the formula worked by hand for stems in mm: radius 12 x diameter, area capped at 707 m2.
"""

import math

import pytest

from assessments.methods import root_zone
from tests.support.works import beyond

CASES = [
    ([500], 500.0, 6.000, 113.10),
    ([1250], 1250.0, 15.000, 706.86),
    ([300, 250, 200], 438.75, 5.265, 87.08),
    ([220, 200, 180, 150, 140], 403.61, 4.843, 73.69),
    ([150] * 6, 367.42, 4.409, 61.07),
    ([120] * 8, 339.41, 4.073, 52.12),
]


@pytest.mark.parametrize(("stems_mm", "combined_mm", "radius_m", "area_m2"), CASES)
def test_the_protection_circle_of_each_worked_case(
    stems_mm: list[float], combined_mm: float, radius_m: float, area_m2: float
) -> None:
    combined_cm = root_zone.combined_diameter_cm([stem / 10 for stem in stems_mm])
    assert combined_cm * 10 == pytest.approx(combined_mm, rel=1e-4)
    assert root_zone.protection_radius_m(combined_cm) == pytest.approx(radius_m, rel=1e-3)
    assert root_zone.protection_area_m2(combined_cm) == pytest.approx(area_m2, rel=1e-3)


def test_the_radius_is_capped_at_15_m_and_the_area_at_707_m2() -> None:
    assert root_zone.protection_radius_m([125.0, 125.1, 300.0]).tolist() == [15.0, 15.0, 15.0]
    assert root_zone.protection_area_m2(300.0) == pytest.approx(707, abs=0.5)


def test_the_constants_that_sql_uses_are_those_of_the_rule() -> None:
    assert (root_zone.RADIUS_PER_DIAMETER, root_zone.RADIUS_CAP_M) == (12.0, 15.0)
    assert root_zone.DIAMETER_HEIGHT_M == 1.5


def test_an_unknown_diameter_stays_unknown_and_a_negative_one_is_refused() -> None:
    assert math.isnan(float(root_zone.protection_radius_m(math.nan)))
    with pytest.raises(ValueError, match="stem_diameter_cm"):
        root_zone.protection_radius_m([10.0, -1.0])
    with pytest.raises(ValueError, match="stem_diameters_cm"):
        root_zone.combined_diameter_cm([])


@pytest.mark.parametrize(("stems_mm", "combined_mm", "radius_m", "area_m2"), CASES)
def test_the_same_by_request(stems_mm: list[float], combined_mm: float, radius_m: float, area_m2: float) -> None:
    found = root_zone.compute({"stems_cm": [stem / 10 for stem in stems_mm], "standard": "bs5837"})
    assert found["combined_diameter_cm"] * 10 == pytest.approx(combined_mm, rel=1e-4)
    assert found["radius_m"] == pytest.approx(radius_m, rel=1e-3)
    assert found["area_m2"] == pytest.approx(area_m2, rel=1e-3)


def test_the_standard_sets_no_share_of_the_area_that_may_be_taken() -> None:
    found = root_zone.compute({"dbh_cm": 65, "standard": "bs5837"} | beyond(5.0))
    assert found["encroached_percent"] == pytest.approx(12.19, abs=0.005)
    assert found["class"] == "no share set; justify, with arboricultural supervision"
    assert "structural_radius_m" not in found
