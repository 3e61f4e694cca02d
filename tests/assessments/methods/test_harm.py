"""Harm: the map of words is in order, sums add up, frames are checked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods import harm, risk

RATED = st.builds(
    harm.RatedTarget,
    failure=st.sampled_from(risk.FAILURE),
    impact=st.sampled_from(risk.IMPACT),
    consequences=st.sampled_from(risk.CONSEQUENCES),
    frame_years=st.integers(1, 5),
    people=st.booleans(),
)


@pytest.mark.parametrize("quantity", harm.RANGES)
def test_each_range_rises_with_its_word_and_its_centre_is_the_geometric_mean(quantity: str) -> None:
    low, central, high = harm.RANGES[quantity][:, 1:]
    for values in (low, central, high):
        assert np.all(np.diff(values) > 0)
    assert central == pytest.approx(np.sqrt(low * high), rel=0.01)
    # The words share the scale out without a gap; impact and failure end at certainty.
    assert low[1:] == pytest.approx(high[:-1])


def test_chances_end_at_certainty() -> None:
    assert harm.RANGES["failure"].max() == 1
    assert harm.RANGES["impact"].max() == 1


@given(st.floats(0, 0.999), st.integers(1, 5))
def test_the_chance_a_year_compounds_to_the_chance_in_the_frame(chance: float, years: int) -> None:
    yearly = float(harm.chance_a_year(chance, years))
    assert 1 - (1 - yearly) ** years == pytest.approx(chance, abs=1e-12)


def test_imminent_failure_overrides_the_frame() -> None:
    chances = harm.failure_chance_codes(np.full(5, risk.IMMINENT), np.arange(1, 6))
    assert len(set(chances.tolist())) == 1


@pytest.mark.parametrize("years", [0, 6, -1])
def test_a_frame_outside_1_to_5_years_is_refused_by_name(years: int) -> None:
    for computation in (harm.failure_chance_codes, harm.chance_a_year):
        with pytest.raises(ValueError, match="frame_years"):
            computation([1], [years])


def test_an_unknown_word_gives_no_harm() -> None:
    for codes in ((0, 4, 4), (4, 0, 4), (4, 4, 0)):
        assert harm.harm_codes(*codes, 3, 1) == 0


@given(st.lists(RATED, max_size=6))
def test_a_tree_is_the_sum_of_its_ratings_and_the_maps_are_in_order(rated: list[harm.RatedTarget]) -> None:
    whole = harm.tree_harm(tuple(rated))
    for place, total in enumerate(whole):
        parts = [harm.tree_harm((one,))[place] for one in rated]
        assert total.deaths == pytest.approx(sum(part.deaths for part in parts))
        assert total.cost == pytest.approx(sum(part.cost for part in parts))
        assert total.which == harm.MAPS[place]
    low, central, high = (total.combined for total in whole)
    assert low <= central <= high


@given(RATED)
def test_people_and_property_are_kept_apart(rated: harm.RatedTarget) -> None:
    central = harm.tree_harm((rated,))[1]
    assert (central.deaths > 0) is rated.people
    assert (central.cost > 0) is not rated.people


@given(RATED)
def test_one_rating_in_words_gives_what_its_codes_give(rated: harm.RatedTarget) -> None:
    codes = harm.harm_codes(
        [risk.code(risk.FAILURE, rated.failure)],
        [risk.code(risk.IMPACT, rated.impact)],
        [risk.code(risk.CONSEQUENCES, rated.consequences)],
        [rated.frame_years],
        [rated.people],
    )
    assert codes[0] == pytest.approx(harm.tree_harm((rated,))[1].combined)


def test_property_is_converted_at_the_stated_rate() -> None:
    assert harm.Harm("central", deaths=0.0, cost=harm.MONEY_PER_DEATH).combined == 1
