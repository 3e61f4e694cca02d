"""The calculation of growth: age or stem, what was measured wins, fields refused by pointer."""

import pytest

from assessments.methods.growth import compute
from assessments.methods.problems import MethodProblem

LIME: dict[str, object] = {"species": "Tilia cordata", "region": "NoEast", "dbh_cm": 48}


def test_a_stem_gives_its_age_and_an_age_its_stem() -> None:
    by_stem = compute(LIME)
    assert by_stem["dbh_cm"] == 48
    assert [one["what"] for one in by_stem["sizes"]] == ["age", "height", "crown_width", "leaf_area"]
    by_age = compute({"species": "Tilia cordata", "age_years": by_stem["sizes"][0]["best"]})
    assert by_age["dbh_cm"] == pytest.approx(48, rel=0.02)
    assert by_age["sizes"][0]["what"] == "dbh"


def test_a_measured_crown_is_the_canopy() -> None:
    assert compute(LIME | {"crown_width_m": 10})["canopy_m2"] == pytest.approx(78.54)


def test_years_run_from_now_to_the_horizon() -> None:
    found = compute(LIME | {"horizon_years": 7})["years"]
    assert [row["year"] for row in found] == list(range(8))
    assert compute(LIME)["years"] == []


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"age_years": 30}, "/age_years"),
        ({"dbh_cm": None}, "/dbh_cm"),
        ({"species": "Phoenix canariensis"}, "/species"),
        ({"region": "Atlantis"}, "/region"),
        ({"horizon_years": 2.5}, "/horizon_years"),
        ({"estimator": "guess"}, "/estimator"),
        ({"conifer": 1}, "/conifer"),
    ],
)
def test_a_wrong_field_is_named(change: dict[str, object], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(LIME | change)
    assert caught.value.fields[0].pointer == pointer
