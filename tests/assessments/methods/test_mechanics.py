"""Likelihood from mechanics: bands of the gust climate, order, what sharpens, no climate, never imminent."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.mechanics import NEEDS_CLIMATE, Climate, Mechanics, judge
from assessments.methods.risk import FAILURE
from assessments.methods.stem_load import check
from assessments.methods.stem_load.contract import read

LIME: dict[str, Any] = {
    "species": "Tilia cordata",
    "height_m": 20,
    "crown_base_m": 4,
    "crown_width_m": 10,
    "dbh_cm": 50,
}
GALES = Climate(24.0, 38.0)
CLIMATES = st.tuples(st.floats(10, 40), st.floats(0.5, 30)).map(lambda pair: Climate(pair[0], pair[0] + pair[1]))


def judged(climate: Climate | None = GALES, **changed: Any) -> Mechanics:
    tree = read(LIME | changed)
    return judge(tree, check(tree), climate)


def hollow(loss: float, spread: float = 2.0) -> list[dict[str, Any]]:
    band = {"low": max(loss - spread, 0), "best": loss, "high": min(loss + spread, 99)}
    return [{"height_m": 1.0, "loss_percent": band}]


def test_each_band_of_the_gust_climate_has_its_word() -> None:
    gust = judged(sections=hollow(90)).gust.best
    assert judged(Climate(gust + 1, gust + 9), sections=hollow(90)).category == "probable"
    assert judged(Climate(gust - 1, gust + 9), sections=hollow(90)).category == "possible"
    assert judged(Climate(gust - 9, gust - 1), sections=hollow(90)).category == "improbable"


def test_without_a_gust_climate_it_says_that_it_needs_one_and_suggests_nothing() -> None:
    found = judged(None, sections=hollow(50))
    assert found.category == ""
    assert found.sharpen == NEEDS_CLIMATE
    assert any(NEEDS_CLIMATE in reason for reason in found.reasons)


@given(CLIMATES, st.floats(0, 99), st.floats(0, 20))
@settings(max_examples=15, deadline=None)
def test_it_is_never_imminent_and_more_loss_never_lowers_it(climate: Climate, loss: float, spread: float) -> None:
    found, worse = (judged(climate, sections=hollow(x, spread)) for x in (loss, min(loss + 5, 99)))
    assert "imminent" not in {found.category, *found.range}
    assert FAILURE.index(worse.category) >= FAILURE.index(found.category)
    assert FAILURE.index(found.range[0]) <= FAILURE.index(found.category) <= FAILURE.index(found.range[1])


def test_a_band_across_a_limit_is_told_as_a_range() -> None:
    gust = judged(sections=hollow(80)).gust
    found = judged(Climate((gust.low + gust.best) / 2, 200.0), sections=hollow(80))
    assert found.range[1] == "probable"
    assert any("ranges from" in reason for reason in found.reasons)


def test_beyond_45_m_s_a_figure_is_not_taken_at_its_word() -> None:
    assert judged(Climate(30.0, 44.0), dbh_cm=120).gust.best > 60
    assert judged(Climate(30.0, 44.0), dbh_cm=120).category == "improbable"
    assert judged(Climate(30.0, 50.0), dbh_cm=120).category == "possible"
    assert "more than 45 m/s" in judged(dbh_cm=120).reasons[0]


def test_what_sharpens_most_is_the_widest_part_of_the_band() -> None:
    assert "nothing was measured inside" in judged().sharpen
    assert "sound wall at 1.0 m" in judged(sections=hollow(80, 18)).sharpen
    narrow = judged(sections=hollow(80, 0), drag_coefficient={"low": 0.1, "best": 0.25, "high": 0.7})
    assert "crown" in narrow.sharpen
    certain_drag = judged(sections=hollow(80, 0), drag_coefficient={"low": 0.25, "best": 0.25, "high": 0.25})
    assert "wood" in certain_drag.sharpen


def test_the_bands_are_marked_as_the_projects_choice() -> None:
    assert any("project's choice" in reason for reason in judged().reasons)


@pytest.mark.parametrize("pair", [(0.0, 30.0), (30.0, 30.0), (40.0, 30.0)])
def test_a_climate_has_its_gusts_in_order(pair: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="fifty_year_m_s"):
        Climate(*pair)
