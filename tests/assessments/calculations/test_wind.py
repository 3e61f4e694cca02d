"""The city's wind stands in where a request says nothing of it, and the answer says so."""

import json
from typing import Any

import pytest

from assessments import calculations
from assessments.methods.policy import Policy, PolicyError, default_policy_text

STEM: dict[str, Any] = {
    "species": "Tilia cordata",
    "height_m": 20,
    "crown_base_m": 4,
    "crown_width_m": 10,
    "dbh_cm": 60,
}
CLIMATE = {"one_year_m_s": 22, "fifty_year_m_s": 36}


def policy(**wind: Any) -> Policy:
    return Policy.from_data(json.loads(default_policy_text()) | ({"wind": wind} if wind else {}))


def answer(name: str, request: dict[str, Any], city: Policy) -> dict[str, Any]:
    return calculations.run(calculations.kind(name), request, city).answer


def test_a_city_that_set_nothing_changes_nothing() -> None:
    kind = calculations.kind("stem-load")
    assert answer("stem-load", STEM, policy()) == calculations.run(kind, STEM).answer


def test_the_gust_of_the_city_stands_in_and_is_named() -> None:
    city = policy(check_gust_m_s=40)
    found = answer("stem-load", STEM, city)
    explicit = answer("stem-load", STEM | {"wind": {"v10_m_s": 40, "averaging": "3s"}}, policy())
    assert found["sections"] == explicit["sections"]
    assert any("40 m/s" in note for note in found["notes"])


def test_what_the_request_says_wins() -> None:
    asked = STEM | {"wind": {"v10_m_s": 25, "averaging": "3s"}}
    assert answer("stem-load", asked, policy(check_gust_m_s=40)) == answer("stem-load", asked, policy())


def test_the_gust_climate_of_the_city_lets_the_mechanics_judge() -> None:
    without = answer("likelihood", {"stem_load": STEM}, policy())
    within = answer("likelihood", {"stem_load": STEM}, policy(gust_climate=CLIMATE))
    given = answer("likelihood", {"stem_load": STEM, "gust_climate": CLIMATE}, policy())
    assert without["mechanics"]["likelihood_of_failure"] is None
    assert within["mechanics"] == given["mechanics"]
    assert within["mechanics"]["likelihood_of_failure"] in ("improbable", "possible", "probable")


@pytest.mark.parametrize(
    ("wind", "path"),
    [
        ({"check_gust_m_s": 500}, "wind.check_gust_m_s"),
        ({"gust_climate": {"one_year_m_s": 30, "fifty_year_m_s": 30}}, "wind.gust_climate.fifty_year_m_s"),
        ({"gust_climate": {"one_year_m_s": 30}}, "wind.gust_climate.fifty_year_m_s"),
        ({"storms": 3}, "wind.storms"),
    ],
)
def test_a_wrong_wind_is_refused_by_its_path(wind: dict[str, Any], path: str) -> None:
    with pytest.raises(PolicyError) as refused:
        policy(**wind)
    assert refused.value.path == path
