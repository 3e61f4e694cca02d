"""The trunk formula: more trunk or better condition never worth less, small trunks, requests refused by field."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.appraisal import adjusted_area_in2, appraise_9th, appraise_10th, compute, trunk_area_cm2
from assessments.methods.problems import MethodProblem

SHARES = st.floats(0, 1)
NINTH: dict[str, object] = {
    "edition": "9", "dbh_cm": 40, "replacement_area_cm2": 80, "replacement_plant_cost": 320, "replacement_cost": 700,
    "species_percent": 80, "condition_percent": 70, "location_percent": 75,
}  # fmt: skip


@given(st.floats(1, 400), st.floats(0, 100), SHARES, SHARES, SHARES)
def test_a_thicker_trunk_is_never_worth_less_by_the_10th_edition(
    dbh: float, more: float, condition: float, functional: float, external: float
) -> None:
    one, other = (
        appraise_10th(trunk_area_cm2(size), 5.0, condition, functional, external).value for size in (dbh, dbh + more)
    )
    assert other >= one


@given(st.floats(1, 500), SHARES, SHARES)
def test_better_condition_is_never_worth_less(dbh: float, one: float, other: float) -> None:
    worse, better = sorted((one, other))
    values = [appraise_9th(trunk_area_cm2(dbh), 6.0, 80.0, 700.0, 0.8, c, 0.7).value for c in (worse, better)]
    assert values[0] <= values[1]


@given(st.floats(30.001, 500))
def test_the_adjusted_area_lies_below_the_plain_one_and_is_held_at_its_top(inches: float) -> None:
    assert adjusted_area_in2(inches) < trunk_area_cm2(inches)
    assert adjusted_area_in2(inches) <= adjusted_area_in2(1000.0)


def test_a_trunk_smaller_than_its_replacement_is_worth_the_replacement_depreciated() -> None:
    found = appraise_9th(50.0, 6.0, 80.0, 700.0, 1.0, 0.5, 1.0)
    assert found.value == pytest.approx(350)
    assert "no larger than the replacement" in found.notes[0]


def test_the_unit_cost_may_come_from_the_replacement_plant() -> None:
    assert compute(NINTH)["unit_cost_per_cm2"] == pytest.approx(4.0)


def test_the_10th_edition_is_taken_where_none_is_named() -> None:
    answer = compute(
        {"dbh_cm": 40, "unit_cost_per_cm2": 4, "condition_percent": 70, "functional_percent": 90,
         "external_percent": 100}
    )  # fmt: skip
    assert answer["edition"] == "10"
    assert [one["name"] for one in answer["factors"]] == ["condition", "functional", "external"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"edition": "8"}, "/edition"),
        ({"functional_percent": 90}, "/functional_percent"),
        ({"trunk_area_cm2": 900}, "/trunk_area_cm2"),
        ({"dbh_cm": None}, "/dbh_cm"),
        ({"unit_cost_per_cm2": 4}, "/replacement_plant_cost"),
        ({"replacement_plant_cost": None}, "/unit_cost_per_cm2"),
        ({"condition_percent": 101}, "/condition_percent"),
        ({"replacement_cost": None}, "/replacement_cost"),
    ],
)
def test_a_wrong_field_is_named(change: dict[str, object], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(NINTH | change)
    assert caught.value.fields[0].pointer == pointer


def test_the_10th_edition_has_no_installed_replacement() -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(
            {"dbh_cm": 40, "unit_cost_per_cm2": 4, "replacement_cost": 9, "condition_percent": 70,
             "functional_percent": 90, "external_percent": 100}
        )  # fmt: skip
    assert caught.value.fields[0].pointer == "/replacement_cost"
