"""The request of a root zone: what it asks for, what it says beside the numbers, and wrong fields."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.problems import MethodProblem
from assessments.methods.root_zone import compute

STEMS = st.lists(st.floats(1, 200), min_size=1, max_size=12)


def asked(**fields: Any) -> dict[str, Any]:
    return compute({"dbh_cm": 50, "standard": "bs5837"} | fields)


def test_the_answer_names_its_method_version_source_and_edition() -> None:
    found = asked()
    assert (found["method"], found["version"], found["edition"]) == ("bs5837_2012", 1, "2012")
    assert found["source"].startswith("BS 5837:2012")


def test_the_edition_may_be_named_as_a_number_and_is_said_where_it_was_not() -> None:
    assert asked(standard="as4970", edition=2025)["method"] == "as4970_2025"
    silent = asked(standard="as4970")
    assert silent["edition"] == "2009"
    assert any("No edition was named" in note for note in silent["notes"])


def test_a_diameter_taken_at_another_height_is_noted() -> None:
    assert any("too large" in note for note in asked(diameter_height_m=1.3)["notes"])
    assert not any("1.3" in note for note in asked(diameter_height_m=1.5)["notes"])


@given(STEMS)
def test_the_radius_of_bs_5837_grows_with_the_stems_up_to_its_cap(stems: list[float]) -> None:
    radius = compute({"stems_cm": stems, "standard": "bs5837"})["radius_m"]
    thicker = compute({"stems_cm": [1.1 * stem for stem in stems], "standard": "bs5837"})["radius_m"]
    assert radius <= thicker <= 15.0


@given(STEMS)
def test_the_radius_of_as_4970_stays_between_2_and_15_m(stems: list[float]) -> None:
    found = compute({"stems_cm": stems, "standard": "as4970", "edition": "2009"})
    assert 2.0 <= found["radius_m"] <= 15.0
    assert found["area_m2"] == pytest.approx(math.pi * found["radius_m"] ** 2, abs=0.06)


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"dbh_cm": -1}, "/dbh_cm"),
    ({"dbh_cm": math.nan}, "/dbh_cm"),
    ({"dbh_cm": 10**400}, "/dbh_cm"),
    ({"dbh_cm": None}, "/dbh_cm"),
    ({"dbh_cm": 50, "stems_cm": [50]}, "/stems_cm"),
    ({"dbh_cm": None, "stems_cm": []}, "/stems_cm"),
    ({"dbh_cm": None, "stems_cm": [20] * 100_000}, "/stems_cm"),
    ({"dbh_cm": None, "stems_cm": [20, 0]}, "/stems_cm/1"),
    ({"standard": None}, "/standard"),
    ({"standard": "other"}, "/standard"),
    ({"standard": ["bs5837"]}, "/standard"),
    ({"edition": "2009"}, "/edition"),
    ({"edition": True}, "/edition"),
    ({"standard": "us-multiple"}, "/tolerance"),
    ({"standard": "us-multiple", "tolerance": "good"}, "/age_class"),
    ({"form": "palm"}, "/form"),
    ({"standard": "as4970", "form": "palm"}, "/crown_radius_m"),
    ({"radius_m": 3}, "/radius_m"),
]


@pytest.mark.parametrize(("fields", "pointer"), WRONG)
def test_a_wrong_field_is_named(fields: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        asked(**fields)
    assert caught.value.fields[0].pointer == pointer
