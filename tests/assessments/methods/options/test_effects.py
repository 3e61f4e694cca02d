"""Residual risk of each kind, and the published example: prune, or move the target."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods import risk
from assessments.methods.options import KINDS, Case, Choice, Option, Rated, build
from tests.support.option_case import CARS, DEAD_WOOD, FOOTWAY, FORK, HOUSE, LIME, case, rated

WORDS = st.builds(
    Rated,
    st.sampled_from(["root", "root_collar", "stem", "union", "limb", "branch", "top", "crown"]),
    st.integers(0, 2),
    st.sampled_from(risk.FAILURE),
    st.sampled_from(risk.IMPACT),
    st.sampled_from(risk.CONSEQUENCES),
    st.none() | st.integers(0, 1),
)


def option(found: Case, kind: str, **settings: object) -> Option:
    return build(found, Choice(kind, **settings))  # type: ignore[arg-type]


def test_the_published_example_high_risk_falls_to_moderate_by_pruning_and_to_low_by_moving_the_target() -> None:
    """ISA BMP Tree Risk Assessment 2017: probable, constant, fully exposed, severe; then pruned, then moved."""
    movable = replace(FOOTWAY, occupancy="constant", movable=True)
    before = case(findings=(), targets=(movable,), ratings=(Rated("stem", 0, "probable", "high", "severe"),))
    assert before.risk == "high"
    pruned = option(before, "reduce_crown").residual[0]
    assert (pruned.failure, pruned.risk) == ("possible", "moderate")
    moved = option(before, "move_target").residual[0]
    assert (moved.impact, moved.risk) == ("very_low", "low")


@given(st.lists(WORDS, max_size=6), st.sampled_from(KINDS))
def test_no_option_of_the_catalogue_raises_a_risk(ratings: list[Rated], kind: str) -> None:
    before = case(findings=(DEAD_WOOD, FORK), ratings=tuple(ratings))
    found = option(before, kind)
    for one in found.residual:
        assert risk.code(risk.RISK, one.risk) <= risk.code(risk.RISK, one.risk_before)
        assert risk.code(risk.RISK, one.later_risk) <= risk.code(risk.RISK, one.risk_before)
    if kind == "retain_and_monitor":
        assert [one.risk for one in found.residual] == [one.risk for one in ratings]


@given(st.lists(WORDS, max_size=6), st.sampled_from(KINDS))
def test_no_option_of_the_catalogue_raises_the_harm_of_any_year(ratings: list[Rated], kind: str) -> None:
    before = case(findings=(DEAD_WOOD, FORK), ratings=tuple(ratings))
    kept, found = option(before, "retain_and_monitor"), option(before, kind)
    for was, now in zip(kept.risk_years, found.risk_years, strict=True):
        assert now.low <= was.low * (1 + 1e-12)
        assert now.central <= was.central * (1 + 1e-12)
        assert now.high <= was.high * (1 + 1e-12)


def test_a_felled_tree_does_no_harm() -> None:
    found = option(case(), "remove_and_replant")
    assert found.harm == (0.0, 0.0, 0.0)
    assert found.risk == "low"


def test_moving_and_restricting_touch_only_the_targets_that_bear_it() -> None:
    moved = [one.impact for one in option(case(), "move_target").residual]
    assert moved == ["medium", "medium", "very_low", "medium"]
    restricted = [one.impact for one in option(case(), "restrict_target").residual]
    assert restricted == ["very_low", "medium", "low", "very_low"]


def test_a_choice_may_mean_some_targets_only() -> None:
    both = case(targets=(replace(FOOTWAY, movable=True), CARS, HOUSE))
    assert [one.impact for one in option(both, "move_target", targets=(1,)).residual] == [
        "medium", "medium", "very_low", "medium",
    ]  # fmt: skip


def test_a_closure_ends_and_the_risk_is_what_it_was() -> None:
    found = option(rated("probable"), "temporary_closure", months=18)
    (one,) = found.residual
    assert (one.risk, one.holds_years, one.later_risk) == ("low", 1, "high")
    full = option(rated("probable"), "retain_and_monitor").risk_years[0].central
    closed = found.risk_years[0].central
    # A year closed, half a year closed, then open.
    assert [year.central for year in found.risk_years[:3]] == pytest.approx([closed, (closed + full) / 2, full])


def test_cutting_off_a_part_leaves_the_others_as_they_were() -> None:
    found = option(case(), "remove_part")
    assert [one.failure for one in found.residual] == ["probable", "probable", "improbable", "possible"]
    other = option(case(), "remove_part", findings=(0,))
    assert other.residual[2].failure == "possible"


def test_a_support_helps_the_union_it_holds_and_nothing_else() -> None:
    found = option(case(), "install_support")
    assert [one.failure for one in found.residual] == ["probable", "probable", "possible", "improbable"]


def test_what_has_begun_to_fail_is_not_undone_by_less_load_or_a_support() -> None:
    for kind in ("reduce_crown", "install_support", "habitat_stem", "veteran_management"):
        found = option(rated("imminent", part="stem"), kind)
        assert found.residual[0].failure == "imminent"
    assert option(rated("imminent", part="union"), "install_support").residual[0].failure == "imminent"


def test_a_habitat_stem_has_no_crown_to_lose_and_hardly_a_load() -> None:
    found = option(case(), "habitat_stem")
    assert [one.failure for one in found.residual] == ["improbable"] * 4
    assert found.harm[1] > 0


def test_a_veteran_sheds_its_dead_wood_first() -> None:
    found = option(case(tree=replace(LIME, dbh_cm=120.0)), "veteran_management")
    assert found.residual[2].failure == "improbable"
    assert found.says == "Manage as a veteran, in steps of 5 % of the crown's length and width"
