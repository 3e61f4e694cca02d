"""Crown reduction: load taken off, regrowth that brings it back, foliage against the limit, mechanics where known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.mechanics import Climate
from assessments.methods.options import Assumptions, Choice, Rated, build
from assessments.methods.options.load import course, foliage_note, foliage_percent, steps_of
from assessments.methods.stem_load.contract import read
from assessments.methods.wind import Crowns, Wind, moment_knm
from tests.support.option_case import FOOTWAY, LIME, case, rated

LOAD = read(
    {
        "species": "Tilia cordata", "height_m": 18, "crown_base_m": 4, "crown_width_m": 11, "dbh_cm": 45,
        "sections": [{"height_m": 0.5, "loss_percent": {"low": 30, "best": 45, "high": 60}}],
    }
)  # fmt: skip


@given(st.floats(1, 50), st.floats(0, 40))
def test_more_reduction_takes_off_more_load_and_regrowth_brings_it_back(percent: float, more: float) -> None:
    small, large = course(case(), percent, 5), course(case(), percent + more, 5)
    assert small is not None
    assert large is not None
    assert large.years[0].moment_reduced_percent >= small.years[0].moment_reduced_percent - 1e-9
    taken = [year.moment_reduced_percent for year in small.years]
    assert taken == sorted(taken, reverse=True)
    assert all(-1e-9 <= one <= 100 for one in taken)


def test_the_load_taken_off_is_that_of_the_two_outlines() -> None:
    found = course(case(), 20.0, 1)
    assert found is not None
    wind = Wind(25.0, "3s", 0.22)
    whole = Crowns.of(18.0, 4.0, 11.0, 0.25)
    cut = whole.reduced(0.2, 0.2)
    before, after = (float(moment_knm(crown, wind, 0.0)[0]) for crown in (whole, cut))
    # Not the same exponent of the profile: the share taken off hardly depends on it.
    assert found.years[0].moment_reduced_percent == pytest.approx(100 * (1 - after / before), abs=1.5)


@pytest.mark.parametrize(("percent", "steps"), [(0, 0), (19.99, 0), (20, 1), (59.9, 1), (60, 2), (100, 2)])
def test_without_mechanics_the_load_decides_by_how_much_failure_falls(percent: float, steps: int) -> None:
    assert steps_of(percent) == steps


def test_the_effect_fades_with_regrowth_and_comes_back_with_the_repeat_cut() -> None:
    found = build(rated("probable"), Choice("reduce_crown"))
    (one,) = found.residual
    assert (one.failure, one.risk, one.later_risk) == ("possible", "moderate", "high")
    assert one.holds_years is not None
    assert 1 <= one.holds_years < 5
    harm = [year.central for year in found.risk_years]
    assert harm[0] < harm[4]
    assert harm[5] == pytest.approx(harm[0])
    assert [year.year for year in found.load] == [0, 1, 2, 3, 4]


def test_a_crown_that_does_not_grow_back_keeps_the_effect() -> None:
    still = replace(rated("probable"), assumptions=Assumptions(regrowth_m_a_year=0.0))
    assert build(still, Choice("reduce_crown")).residual[0].holds_years is None


def test_a_cut_too_small_to_matter_changes_no_category() -> None:
    assert build(rated("probable"), Choice("reduce_crown", percent=3)).residual[0].failure == "probable"


@given(st.floats(0.1, 90))
def test_by_volume_more_foliage_is_taken_than_by_surface(percent: float) -> None:
    low, high = foliage_percent(percent)
    assert 0 <= low <= high <= 100


@pytest.mark.parametrize(
    ("percent", "says"), [(5, "within the 25 %"), (10, "may pass the 25 %"), (20, "more than the 25 %")]
)
def test_foliage_is_held_against_the_limit_of_one_season(percent: float, says: str) -> None:
    assert says in foliage_note(percent)
    assert foliage_note(percent) in build(case(), Choice("reduce_crown", percent=percent)).notes


def stem(failure: str, climate: Climate | None) -> list[object]:
    """The failure after a reduction of a fifth, by the stem's own load."""
    tree = replace(LIME, load=LOAD, climate=climate)
    one = case(findings=(), targets=(FOOTWAY,), ratings=(Rated("stem", 0, failure, "high", "severe"),), tree=tree)
    found = build(one, Choice("reduce_crown", percent=20))
    return [found.residual[0].failure, *(year.category for year in found.load)]


def test_with_a_stem_load_its_own_mechanics_say_by_how_much_failure_falls() -> None:
    found = build(
        case(tree=replace(LIME, load=LOAD, climate=Climate(22.0, 36.0))), Choice("reduce_crown", percent=20)
    ).load
    gusts = [year.gust_m_s for year in found]
    assert all(gust is not None for gust in gusts)
    assert gusts == sorted(gusts, reverse=True)  # type: ignore[type-var]
    (weak,) = {year.safety is not None for year in found}
    assert weak
    # Between the gust before the cut and that after it lies a one-year gust that only the whole crown exceeds.
    before = build(
        case(tree=replace(LIME, load=LOAD, climate=Climate(22.0, 36.0))), Choice("reduce_crown", percent=0.001)
    ).load[0].gust_m_s  # fmt: skip
    assert before is not None
    assert gusts[0] is not None
    between = (before + gusts[0]) / 2
    helped = stem("probable", Climate(between, between + 30))
    assert helped[:2] == ["possible", "possible"]
    unhelped = stem("probable", Climate(gusts[0] + 5, gusts[0] + 30))
    assert unhelped[:2] == ["probable", "probable"]


def test_without_the_gusts_of_the_site_the_load_taken_off_decides() -> None:
    assert stem("probable", None)[0] == "possible"


def test_sizes_that_are_not_measured_are_estimated_and_named() -> None:
    found = course(case(tree=replace(LIME, height_m=None, crown_width_m=None, crown_base_m=None)), 10.0, 1)
    assert found is not None
    assert len([note for note in found.notes if "measure it" in note]) == 3


def test_a_crown_that_has_grown_back_bears_what_it_bore_and_a_course_is_worked_out_once() -> None:
    one = case(tree=replace(LIME, load=LOAD, climate=Climate(22.0, 36.0)))
    found = course(one, 10.0, 8)
    assert found is not None
    whole = course(one, 1e-9, 1)
    assert whole is not None
    assert found.years[7].moment_reduced_percent == pytest.approx(0, abs=1e-6)
    assert found.years[7].gust_m_s == pytest.approx(whole.years[0].gust_m_s, rel=1e-6)
    assert course(one, 10.0, 8) is found
    # Another case, even of the same tree, starts anew.
    assert course(replace(one, assumptions=Assumptions(regrowth_m_a_year=0.1)), 10.0, 8) != found
