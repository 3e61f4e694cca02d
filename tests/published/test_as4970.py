"""AS 4970: zone radius, structural root zone and encroachment of worked cases.

Formulas seen in secondary copies of the standard; the clamps of 2009 and its 10 % class are from memory of it.
The figures are the formulas worked by hand; segments: A = R^2 acos(s / R) - s sqrt(R^2 - s^2).
"""

import math

import pytest

from assessments.methods.root_zone import compute
from tests.support.works import beyond

# dbh m, diameter above the root crown m, zone radius m, zone area m2, structural radius m
CASES = [
    (0.12, 0.14, 2.00, 12.57, 1.50),
    (0.30, 0.36, 3.60, 40.72, 2.155),
    (0.45, 0.52, 5.40, 91.61, 2.515),
    (0.65, 0.75, 7.80, 191.13, 2.933),
    (1.40, 1.60, 15.00, 706.86, 4.032),
]
# dbh m, straight edge at m from the stem's centre, m2 taken, share %, class of 2009
SEGMENTS = [
    (0.65, 5.0, 23.299, 12.19, "major"),
    (0.65, 6.0, 12.268, 6.42, "minor"),
    (0.45, 4.0, 6.969, 7.61, "minor"),
]


@pytest.mark.parametrize("edition", ["2009", "2025"])
@pytest.mark.parametrize(("dbh_m", "root_crown_m", "radius_m", "area_m2", "structural_m"), CASES)
def test_the_zones_of_each_worked_case(
    edition: str, dbh_m: float, root_crown_m: float, radius_m: float, area_m2: float, structural_m: float
) -> None:
    asked = {"dbh_cm": 100 * dbh_m, "root_crown_diameter_cm": 100 * root_crown_m, "standard": "as4970"}
    found = compute(asked | {"edition": edition})
    assert found["edition"] == edition
    assert found["radius_m"] == pytest.approx(radius_m, abs=1e-3)
    assert found["area_m2"] == pytest.approx(area_m2, abs=0.006)
    assert found["structural_radius_m"] == pytest.approx(structural_m, abs=1e-3)


@pytest.mark.parametrize(("dbh_m", "edge_m", "taken_m2", "percent", "word"), SEGMENTS)
def test_the_share_beyond_a_straight_edge(
    dbh_m: float, edge_m: float, taken_m2: float, percent: float, word: str
) -> None:
    asked = {"dbh_cm": 100 * dbh_m, "root_crown_diameter_cm": 60, "standard": "as4970", "edition": "2009"}
    found = compute(asked | beyond(edge_m))
    assert found["encroached_m2"] == pytest.approx(taken_m2, abs=1e-3)
    assert found["encroached_percent"] == pytest.approx(percent, abs=0.005)
    assert found["class"] == word


def test_ten_percent_lie_beyond_an_edge_at_0_68705_of_the_radius() -> None:
    found = compute({"dbh_cm": 100, "standard": "as4970", "edition": "2009"} | beyond(12 * 0.68705))
    assert found["encroached_percent"] == pytest.approx(10, abs=0.001)


def test_works_in_the_structural_root_zone_are_major_however_small() -> None:
    asked = {"dbh_cm": 65, "root_crown_diameter_cm": 75, "standard": "as4970"}
    post = {
        "plane": "metric",
        "location": [0, 0],
        "works": {"type": "Polygon", "coordinates": [[[2.9, 0], [3.2, 0], [3.2, 0.3], [2.9, 0.3], [2.9, 0]]]},
    }
    for edition in ("2009", "2025"):
        found = compute(asked | {"edition": edition} | post)
        assert found["encroached_percent"] < 0.1
        assert found["class"] == "major"


def test_small_works_cannot_be_called_minor_without_the_root_crown_diameter() -> None:
    found = compute({"dbh_cm": 65, "standard": "as4970", "edition": "2009"} | beyond(6.0))
    assert found["class"] == "undecided"
    assert "root_crown_diameter_cm" in found["class_says"]


def test_the_tiers_of_2025_are_not_invented() -> None:
    asked = {"dbh_cm": 65, "root_crown_diameter_cm": 75, "standard": "as4970", "edition": "2025"}
    assert compute(asked | beyond(6.0))["class"] == "not_established"


def test_palms_have_rules_of_their_own() -> None:
    palm = {"standard": "as4970", "form": "palm"}
    assert compute(palm | {"edition": "2009", "crown_radius_m": 2.5})["radius_m"] == 3.5
    found = compute(palm | {"edition": "2025", "root_crown_diameter_cm": 60})
    assert found["radius_m"] == 2.0
    assert "structural_radius_m" not in found


def test_several_stems_enter_by_the_root_of_their_squares() -> None:
    """From memory of the standard."""
    found = compute({"stems_cm": [30, 25, 20], "standard": "as4970", "edition": "2009"})
    assert found["radius_m"] == pytest.approx(12 * math.sqrt(0.3**2 + 0.25**2 + 0.2**2), abs=1e-3)
