"""Failures a tree-year by category, with storms as what varies; a model only once there are enough of them."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.outcomes import Ending, Outcomes, Rate, Rated, Storm, as_json, report, spells

START, UNTIL = date(2016, 1, 1), date(2026, 1, 1)
CATEGORIES = ("improbable", "possible", "probable")
CHANCE = (0.0004, 0.002, 0.012)


def storms(count: int) -> list[Storm]:
    gusts = np.linspace(20.0, 35.0, count)
    return [Storm(f"s{n}", START + timedelta(days=300 * (n + 1)), {"n": float(g)}) for n, g in enumerate(gusts)]


def city(trees: int, happened: list[Storm], seed: int = 1, spread: float = 0.4) -> Outcomes:
    """Trees of three categories that fail in storms, with the gust's third power and a storm's own effect."""
    rng = np.random.default_rng(seed)
    ratings = [Rated(str(n), CATEGORIES[n % 3], START, "n") for n in range(trees)]
    gone: set[int] = set()
    endings = []
    for storm in happened:
        factor = (storm.gusts_m_s["n"] / 25) ** 3 * np.exp(rng.normal(0, spread))
        for n in np.flatnonzero(rng.random(trees) < np.array(CHANCE)[np.arange(trees) % 3] * factor).tolist():
            if n not in gone:
                gone.add(n)
                endings.append(Ending(str(n), storm.day, "failure", storm.uid))
    return report(spells(ratings, endings, UNTIL), happened, UNTIL)


def of(found: Outcomes, category: str) -> Rate:
    return next(one for one in found.rates if one.category == category)


def test_a_rate_is_failures_over_tree_years() -> None:
    ratings = [Rated(str(n), "possible", START) for n in range(100)]
    found = report(spells(ratings, [Ending("7", date(2021, 1, 1), "failure")], UNTIL), [], UNTIL)
    rate = of(found, "possible")
    assert rate.tree_years == pytest.approx(995, abs=0.5)
    assert rate.rate == pytest.approx(1 / 995, rel=1e-3)
    assert (rate.low95 or 0) < (rate.rate or 0) < (rate.high95 or 0)


def test_a_category_without_failures_has_an_upper_end_that_is_not_nothing() -> None:
    found = report(spells([Rated(str(n), "possible", START) for n in range(100)], [], UNTIL), storms(3), UNTIL)
    rate = of(found, "possible")
    assert rate.rate == 0
    assert rate.low95 == 0
    assert rate.high95 == pytest.approx(3.689 / rate.tree_years, rel=1e-3)  # Garwood 1936


def test_a_category_that_nobody_used_has_no_rate() -> None:
    assert of(city(300, storms(2)), "imminent").rate is None


def test_storms_widen_the_interval_beyond_what_the_count_alone_says() -> None:
    """Forty failures in one storm are one event, forty in ten storms are more; the count is the same."""
    happened = storms(10)
    ratings = [Rated(str(n), "possible", START, "n") for n in range(1000)]

    def width(one_storm: bool) -> float:
        endings = [
            Ending(
                str(n), happened[0 if one_storm else n % 10].day, "failure", happened[0 if one_storm else n % 10].uid
            )
            for n in range(40)
        ]
        rate = of(report(spells(ratings, endings, UNTIL), happened, UNTIL), "possible")
        return (rate.high95 or 0) - (rate.low95 or 0)

    assert width(True) > 2 * width(False)


def test_below_fifty_failures_or_five_storms_there_is_no_model_and_the_answer_says_so() -> None:
    few, four = city(600, storms(8)), city(30_000, storms(4))
    assert few.failures < 50
    assert four.failures > 50
    for found in (few, four):
        assert found.model is None
        assert found.notes[0].startswith("By category only")


def test_the_model_finds_the_chances_that_were_put_in() -> None:
    found = city(30_000, storms(8))
    assert found.model is not None
    for (name, known), true in zip(found.model.at_reference, sorted(CHANCE), strict=True):
        assert name in CATEGORIES
        assert known.low95 < true < known.high95
        assert known.high95 / known.low95 < 12
    assert found.model.exponent.low95 < 3 < found.model.exponent.high95
    assert 0.1 < found.model.storm_sd < 1.0


def test_who_stood_in_a_storm_is_counted_with_its_local_gust() -> None:
    ratings = [Rated("a", "possible", START, "north"), Rated("b", "possible", START, "south")]
    storm = Storm("s", date(2020, 1, 1), {"north": 30.0, "east": 20.0})
    found = report(spells(ratings, [Ending("a", storm.day, "failure", "s")], UNTIL), [storm], UNTIL)
    told = {(row.zone, row.gust_m_s, row.exposed, row.failures) for row in found.storms}
    assert told == {("north", 30.0, 1, 1), ("south", 25.0, 1, 0)}


def test_the_same_outcomes_give_the_same_intervals() -> None:
    assert city(900, storms(3)) == city(900, storms(3))


def test_outcomes_are_said_in_json_with_their_method() -> None:
    told = as_json(city(30_000, storms(8)))
    assert told["method"] == "failures_by_category_storm_bootstrap"
    assert set(told["model"]["at_reference"]) == set(CATEGORIES)


@given(st.integers(1, 12), st.integers(0, 3), st.integers(1, 40), st.integers(0, 3000))
def test_adding_tree_years_without_failures_never_raises_a_rate(trees: int, failed: int, more: int, days: int) -> None:
    ratings = [Rated(str(n), "possible", START) for n in range(trees)]
    endings = [Ending(str(n), START + timedelta(days=700 + n), "failure") for n in range(min(failed, trees))]
    sound = [Rated(f"sound {n}", "possible", START + timedelta(days=days)) for n in range(more)]
    before, after = (
        of(report(spells(told, endings, UNTIL), [], UNTIL), "possible") for told in (ratings, ratings + sound)
    )
    assert before.failures == after.failures
    assert before.tree_years < after.tree_years
    for name in ("rate", "low95", "high95"):
        assert getattr(after, name) <= getattr(before, name) * (1 + 1e-12)


def test_a_zone_without_a_gust_has_that_of_the_city() -> None:
    assert Storm("s", START, {"north": 30.0}, 22.0).gust("south") == 22.0
    assert Storm("s", START, {"north": 30.0}, 22.0).gust("north") == 30.0
    assert Storm("s", START, {}).gust("north") is None
