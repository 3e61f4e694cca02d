"""The value of a diagnosis for a case: enumeration agrees, and what there is to diagnose."""

from dataclasses import replace
from itertools import product

import pytest

from assessments.methods.harm import MAPS
from assessments.methods.options import Choice, Own, Rated, build, propose, value_of_diagnosis
from assessments.methods.options.courses import harm_by_year
from assessments.methods.options.diagnosis import STATES, rated_places
from tests.support.option_case import LIME, case, rated


def test_the_worst_finding_that_hides_something_is_diagnosed_on_all_its_targets() -> None:
    assert rated_places(case()) == (0, 1)


def test_where_nothing_is_hidden_there_is_no_value() -> None:
    assert value_of_diagnosis(rated("probable"), propose(rated("probable"))) is None
    assert value_of_diagnosis(case(), ()) is None


def test_failure_that_has_begun_is_not_diagnosed() -> None:
    begun = case(ratings=(Rated("root_collar", 0, "imminent", "high", "severe", 0),))
    assert value_of_diagnosis(begun, propose(begun)) is None


@pytest.mark.parametrize("rate", [1e5, 1e6, 5e6, 5e7])
def test_the_value_equals_the_enumeration_of_every_plan(rate: float) -> None:
    one = case()
    options = [build(one, Choice(kind)) for kind in ("retain_and_monitor", "reduce_crown", "remove_and_replant")]
    found = value_of_diagnosis(one, options, money_per_harm=rate)
    assert found is not None
    # Decided probable: right with 0.6, else possible. Read right with 0.8, else a neighbour.
    prior = (0.0, 0.4, 0.6)
    chance = ((0.8, 0.2, 0.0), (0.1, 0.8, 0.1), (0.0, 0.2, 0.8))
    central = MAPS.index("central")
    loss = [
        [float(option.present.total)
         + rate * float(harm_by_year(one, option.effects, {0: state, 1: state})[central].sum()) for state in STATES]
        for option in options
    ]  # fmt: skip
    now = min(sum(p * row[s] for s, p in enumerate(prior)) for row in loss)
    after = min(
        sum(prior[s] * chance[s][r] * loss[act][s] for s in range(3) for r, act in enumerate(plan))
        for plan in product(range(3), repeat=3)
    )
    once = found.values[1]
    assert once.money_per_harm == rate
    assert once.gross == pytest.approx(max(now - after, 0), rel=1e-6, abs=1e-3)
    assert once.net == pytest.approx(once.gross - one.rates.rate("diagnose", 72.0).cost)


def test_a_better_instrument_is_never_worth_less() -> None:
    one = case()
    options = propose(one)
    for rate in (1e5, 1e6, 1e7):
        worse, better = (value_of_diagnosis(one, options, reading_right=hit, money_per_harm=rate) for hit in (0.7, 1.0))
        assert worse is not None
        assert better is not None
        assert all(b.gross >= a.gross - 1e-6 for a, b in zip(worse.values, better.values, strict=True))


def test_the_instrument_says_its_error() -> None:
    found = value_of_diagnosis(case(), propose(case()))
    assert found is not None
    assert found.diagnosis.error == "right in 80 % of readings"


def test_the_diagnosis_costs_what_its_own_option_says() -> None:
    one = case()
    quoted = build(one, Choice("advanced_diagnosis", own=Own(cost_now=1200.0)))
    kept = build(one, Choice("retain_and_monitor"))
    found = value_of_diagnosis(one, [kept, quoted])
    assert found is not None
    assert found.diagnosis.cost == 1200.0


def test_an_unmeasured_stem_is_diagnosed_at_the_price_of_its_option() -> None:
    one = case(tree=replace(LIME, dbh_cm=None))
    found = value_of_diagnosis(one, [build(one, Choice("retain_and_monitor"))])
    assert found is not None
    assert found.diagnosis.cost == build(one, Choice("advanced_diagnosis")).cost_now
