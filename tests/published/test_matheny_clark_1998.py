"""Matheny & Clark 1998, Trees and Development: radius in feet per inch of dbh by tolerance and age (from memory)."""

import pytest

from assessments.methods.root_zone import compute

FEET_PER_INCH = {
    ("good", "young"): 0.50,
    ("good", "mature"): 0.75,
    ("good", "overmature"): 1.00,
    ("moderate", "young"): 0.75,
    ("moderate", "mature"): 1.00,
    ("moderate", "overmature"): 1.25,
    ("poor", "young"): 1.00,
    ("poor", "mature"): 1.25,
    ("poor", "overmature"): 1.50,
}
# Feet -> metres for a stem of 24 in.
METRES = {0.50: 3.658, 0.75: 5.486, 1.00: 7.315, 1.25: 9.144, 1.50: 10.973}


@pytest.mark.parametrize(("tolerance", "age"), FEET_PER_INCH)
def test_a_stem_of_24_inches_by_tolerance_and_age(tolerance: str, age: str) -> None:
    found = compute({"dbh_cm": 60.96, "standard": "us-multiple", "tolerance": tolerance, "age_class": age})
    assert found["radius_m"] == pytest.approx(METRES[FEET_PER_INCH[tolerance, age]], abs=1e-3)


def test_one_foot_an_inch_is_twelve_diameters_as_in_bs_5837() -> None:
    """Municipal codes: 1 ft per inch (Vancouver, Washington)."""
    found = compute({"dbh_cm": 50, "standard": "us-multiple", "tolerance": "moderate", "age_class": "mature"})
    assert found["radius_m"] == compute({"dbh_cm": 50, "standard": "bs5837"})["radius_m"] == 6.0
