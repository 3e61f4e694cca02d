"""Present values against the closed forms of financial mathematics (textbook): annuity, deferred and spaced annuity."""

from decimal import Decimal

import pytest

from assessments.methods.money import Upkeep, compute, present_value


def annuity(rate: float, years: int) -> float:
    """The present value of 1 at the end of each of so many years: (1 - (1 + r)^-n) / r."""
    return (1 - (1 + rate) ** -years) / rate


@pytest.mark.parametrize(("rate", "years"), [(0.03, 20), (0.05, 10), (0.035, 60), (0.10, 1)])
def test_a_cost_of_every_year_is_an_ordinary_annuity(rate: float, years: int) -> None:
    found = present_value(Decimal(0), [Upkeep("inspect", Decimal(1000), 1)], years, Decimal(str(rate)))
    assert float(found.total) == pytest.approx(1000 * annuity(rate, years), abs=0.005)


def test_the_textbook_factor_of_ten_years_at_five_percent_is_7_7217() -> None:
    found = present_value(Decimal(0), [Upkeep("inspect", Decimal(10000), 1)], 10, Decimal("0.05"))
    assert found.total == Decimal("77217.35")


@pytest.mark.parametrize(("rate", "every", "times"), [(0.03, 5, 4), (0.04, 7, 3)])
def test_a_cost_of_every_few_years_is_an_annuity_at_the_rate_of_that_time(rate: float, every: int, times: int) -> None:
    found = present_value(Decimal(0), [Upkeep("cut", Decimal(1000), every)], every * times, Decimal(str(rate)))
    spaced = (1 + rate) ** every - 1
    assert float(found.total) == pytest.approx(1000 * annuity(spaced, times), abs=0.005)


def test_an_annuity_that_begins_later_is_one_less_its_beginning() -> None:
    found = present_value(Decimal(0), [Upkeep("water", Decimal(1000), 1, first_year=6)], 15, Decimal("0.03"))
    assert float(found.total) == pytest.approx(1000 * (annuity(0.03, 15) - annuity(0.03, 5)), abs=0.005)


def test_without_a_rate_costs_add_up() -> None:
    answer = compute(
        {
            "cost_now": 100,
            "upkeep": [{"what": "inspect", "cost": 40, "every_years": 3}],
            "horizon_years": 10,
            "discount_rate_percent": 0,
        }
    )
    assert answer["present_value"] == 220.0
