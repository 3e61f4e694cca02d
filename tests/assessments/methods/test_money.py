"""Present values: exact to the hundredth, a higher rate never dearer, requests refused by field."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.money import HIGHEST_RATE, Upkeep, compute, factor, present_value
from assessments.methods.problems import MethodProblem

COSTS = st.decimals(0, 100_000, places=2)
RATES = st.decimals(0, HIGHEST_RATE, places=4)
UPKEEP = st.builds(Upkeep, st.just("work"), COSTS, st.integers(1, 30), st.none() | st.integers(0, 40), st.none())


@given(COSTS, st.lists(UPKEEP, max_size=5), st.integers(0, 60), RATES, RATES)
def test_a_higher_rate_never_raises_the_present_value_of_costs(
    now: Decimal, upkeep: list[Upkeep], years: int, one: Decimal, other: Decimal
) -> None:
    low, high = sorted((one, other))
    assert present_value(now, upkeep, years, high).total <= present_value(now, upkeep, years, low).total


@given(COSTS, st.lists(UPKEEP, max_size=5), st.integers(0, 60), RATES)
def test_the_parts_add_up_and_no_flow_lies_beyond_the_horizon(
    now: Decimal, upkeep: list[Upkeep], years: int, rate: Decimal
) -> None:
    found = present_value(now, upkeep, years, rate)
    assert found.total == found.now + found.upkeep
    assert all(0 <= flow.year <= years and flow.discounted <= flow.amount for flow in found.flows)
    assert found.total >= found.now >= 0


@given(COSTS, st.lists(UPKEEP, max_size=4), st.integers(0, 40), st.integers(0, 20), RATES)
def test_a_longer_horizon_never_costs_less(
    now: Decimal, upkeep: list[Upkeep], years: int, more: int, rate: Decimal
) -> None:
    assert present_value(now, upkeep, years + more, rate).total >= present_value(now, upkeep, years, rate).total


def test_upkeep_ends_with_its_last_year() -> None:
    water = Upkeep("water", Decimal(90), 1, first_year=1, last_year=3)
    assert present_value(Decimal(0), [water], 20, Decimal(0)).total == Decimal(270)
    assert list(water.years(2)) == [1, 2]


def test_a_rate_out_of_bounds_and_a_horizon_without_end_are_refused() -> None:
    with pytest.raises(ValueError, match="rate"):
        factor(Decimal("0.51"), 1)
    with pytest.raises(ValueError, match="horizon_years"):
        present_value(Decimal(1), [], 101, Decimal("0.03"))
    with pytest.raises(ValueError, match="every_years"):
        present_value(Decimal(1), [Upkeep("x", Decimal(1), 0)], 10, Decimal("0.03"))


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"discount_rate_percent": 51}, "/discount_rate_percent"),
        ({"horizon_years": 3.5}, "/horizon_years"),
        ({"cost_now": -1}, "/cost_now"),
        ({"upkeep": [{"what": "x", "cost": 1}]}, "/upkeep/0/every_years"),
        ({"upkeep": [{"cost": 1, "every_years": 1}]}, "/upkeep/0/what"),
        ({"upkeep": [{"what": "x", "cost": 1, "every_years": 1.5}]}, "/upkeep/0/every_years"),
    ],
)
def test_a_wrong_field_is_named(change: dict[str, object], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute({"cost_now": 1, "horizon_years": 10, "discount_rate_percent": 3} | change)
    assert caught.value.fields[0].pointer == pointer
