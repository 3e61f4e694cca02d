"""Risk over years with its band, decay that goes on, cost over years."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.harm import RatedTarget, tree_harm
from assessments.methods.options import KINDS, Choice, build
from tests.support.option_case import LIME, case, rated


@given(st.sampled_from(KINDS))
def test_the_band_holds_the_central_course(kind: str) -> None:
    for year in build(case(), Choice(kind)).risk_years:
        assert 0 <= year.low <= year.central <= year.high


def test_a_year_of_a_retained_tree_is_the_harm_of_its_ratings() -> None:
    found = build(case(), Choice("retain_and_monitor"))
    targets = case().targets
    low, central, high = tree_harm(
        tuple(RatedTarget(one.failure, one.impact, one.consequences, 3, targets[one.target].people)
              for one in case().ratings)
    )  # fmt: skip
    for year in found.risk_years:
        expected = (low.combined, central.combined, high.combined)
        assert (year.low, year.central, year.high) == pytest.approx(expected)
    assert len(found.risk_years) == 20


def test_decay_that_goes_on_raises_the_risk_of_what_it_weakens() -> None:
    chances = (0.0, 0.1, 0.2, 0.4)
    found = build(case(tree=replace(LIME, decay_chance={2: chances})), Choice("retain_and_monitor"))
    still = build(case(), Choice("retain_and_monitor"))
    added = [now.central - was.central for now, was in zip(found.risk_years, still.risk_years, strict=True)]
    assert added[0] == pytest.approx(0)
    # In proportion to the chance that the threshold has been crossed; after the last known year it stays.
    assert added[2] == pytest.approx(2 * added[1])
    assert added[19] == pytest.approx(4 * added[1])
    assert added[1] > 0


def test_decay_never_makes_imminent_what_was_probable() -> None:
    found = build(case(tree=replace(LIME, decay_chance={0: (1.0,)})), Choice("retain_and_monitor"))
    assert found.harm == pytest.approx(build(case(), Choice("retain_and_monitor")).harm)


def test_what_is_gone_decays_no_more() -> None:
    found = build(case(tree=replace(LIME, decay_chance={0: (1.0,), 2: (1.0,)})), Choice("remove_and_replant"))
    assert found.harm[2] == 0


@given(st.sampled_from(KINDS), st.floats(0, 50))
def test_the_costs_of_the_years_discount_to_the_present_value(kind: str, percent: float) -> None:
    one = case()
    found = build(replace(one, assumptions=replace(one.assumptions, discount_rate_percent=percent)), Choice(kind))
    rows = found.cost_years
    assert rows[0].cost == pytest.approx(found.cost_now)
    assert rows[-1].present_so_far == pytest.approx(float(found.present.total), abs=0.02)
    total = sum(row.cost / (1 + percent / 100) ** row.year for row in rows)
    assert total == pytest.approx(float(found.present.total), abs=0.02)


def test_a_frame_of_one_year_means_more_harm_a_year_than_the_same_words_for_five() -> None:
    one = build(replace(rated("possible"), frame_years=1), Choice("retain_and_monitor")).harm
    five = build(replace(rated("possible"), frame_years=5), Choice("retain_and_monitor")).harm
    assert one[1] > five[1]
