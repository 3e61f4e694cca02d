"""The risk request: every cell as the matrices give it, impact by guidance, wrong fields."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods import risk
from assessments.methods.problems import MethodProblem
from assessments.methods.risk_answer import compute

WORDS: dict[str, Any] = {"likelihood_of_failure": "probable", "likelihood_of_impact": "high", "consequences": "severe"}


@given(st.sampled_from(risk.FAILURE), st.sampled_from(risk.IMPACT), st.sampled_from(risk.CONSEQUENCES))
def test_every_cell_is_that_of_the_matrices(failure: str, impact: str, consequences: str) -> None:
    found = compute({"likelihood_of_failure": failure, "likelihood_of_impact": impact, "consequences": consequences})
    assert found["failure_and_impact"] == risk.failure_and_impact(failure, impact)
    assert found["risk"] == risk.rate(failure, impact, consequences)


def test_impact_may_come_from_occupancy_and_exposure() -> None:
    """ISA BMP 2017: constant occupancy and full exposure: high."""
    words = {name: word for name, word in WORDS.items() if name != "likelihood_of_impact"}
    found = compute(words | {"occupancy": "constant", "exposure": "full"})
    assert (found["likelihood_of_impact"], found["risk"]) == ("high", "high")
    away = compute(words | {"occupancy": "constant", "exposure": "full", "fall_direction": "away"})
    assert away["likelihood_of_impact"] == "medium"


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"likelihood_of_failure": "certain"}, "/likelihood_of_failure"),
    ({"likelihood_of_failure": None}, "/likelihood_of_failure"),
    ({"likelihood_of_failure": ["probable"]}, "/likelihood_of_failure"),
    ({"likelihood_of_impact": None}, "/likelihood_of_impact"),
    ({"likelihood_of_impact": None, "occupancy": "rare"}, "/exposure"),
    ({"occupancy": "rare"}, "/occupancy"),
    ({"consequences": "grave"}, "/consequences"),
    ({"risk": "low"}, "/risk"),
]


@pytest.mark.parametrize(("fields", "pointer"), WRONG)
def test_a_wrong_field_is_named(fields: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(WORDS | fields)
    assert caught.value.fields[0].pointer == pointer
