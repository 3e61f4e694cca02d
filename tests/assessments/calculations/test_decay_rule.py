"""The city's threshold of decay stands in where a request says nothing of it, and the answer says so."""

import json
from typing import Any

import pytest

from assessments import calculations
from assessments.methods.policy import Policy, default_policy_text
from inventory.problems import Invalid

STEM: dict[str, Any] = {"position": "stem", "diameter_cm": 62, "measurements": [{"sound_wall_cm": 10.5}]}
RULE = {"least_t_over_r": 0.25, "chance_percent": 35, "crossed_months": 6}


def answer(request: dict[str, Any]) -> dict[str, Any]:
    city = Policy.from_data(json.loads(default_policy_text()) | {"decay_growth": RULE})
    return calculations.run(calculations.kind("decay-growth"), request, city).answer


def test_threshold_and_chance_of_the_policy_stand_in_and_the_answer_says_so() -> None:
    found = answer(STEM)
    assert found["threshold"]["t_over_r"] == 0.25
    assert found["chance_percent"] == 35
    said = " ".join(found["notes"])
    assert "t/R 0.25" in said
    assert "35 %" in said
    asked = STEM | {"threshold": {"t_over_r": 0.25}, "chance_percent": 35}
    plain = calculations.run(calculations.kind("decay-growth"), asked).answer
    assert found["first_year_crossed"] == plain["first_year_crossed"]
    assert found["band"] == plain["band"]


@pytest.mark.parametrize(("name", "value"), [("threshold", {"loss_percent": 30}), ("chance_percent", 10)])
def test_what_the_request_says_wins(name: str, value: Any) -> None:
    found = answer(STEM | {name: value})
    if name == "threshold":
        assert found["threshold"] == {"t_over_r": None, "loss_percent": 30}
        assert not any("the threshold" in note and "policy" in note for note in found["notes"])
    else:
        assert found["chance_percent"] == value


@pytest.mark.parametrize("wrong", [[], "stem", {"position": "stem", "threshold": []}])
def test_a_wrong_request_is_still_named(wrong: Any) -> None:
    with pytest.raises(Invalid):
        calculations.run(calculations.kind("decay-growth"), wrong, Policy.from_data(json.loads(default_policy_text())))
