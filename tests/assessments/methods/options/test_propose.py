"""What is proposed for a tree: the order, what its findings allow, costs from the card, dates and checks."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from assessments.methods.findings import Finding
from assessments.methods.options import KINDS, Choice, Own, Rated, Site, Standing, Target, build, propose
from assessments.methods.options.propose import interval_months, months_on
from assessments.methods.problems import MethodProblem
from assessments.methods.replacement import Place
from tests.support.option_case import CARS, FOOTWAY, LIME, TODAY, case, rated


def kinds(found: object) -> list[str]:
    return [option.kind for option in propose(found)]  # type: ignore[arg-type]


def test_the_target_is_considered_first_and_removal_last() -> None:
    assert kinds(case()) == [
        "move_target", "restrict_target", "retain_and_monitor", "remove_part", "reduce_crown", "install_support",
        "habitat_stem", "advanced_diagnosis", "remove_and_replant",
    ]  # fmt: skip
    assert list(KINDS).index("restrict_target") < list(KINDS).index("reduce_crown") < len(KINDS) - 1


def test_each_says_why_it_is_proposed_what_to_beware_of_and_by_what_it_was_worked_out() -> None:
    for option in propose(case()):
        assert option.why
        assert option.cautions
        assert any(method.startswith("options/") for method in option.methods)


def test_high_risk_asks_for_a_closure_and_has_a_day_to_act_by() -> None:
    high = rated("probable")
    found = {option.kind: option for option in propose(high)}
    assert high.risk == "high"
    assert found["temporary_closure"].ends_on == date(2027, 2, 25)
    assert found["temporary_closure"].act_by == date(2026, 12, 25)
    assert found["retain_and_monitor"].act_by is None
    assert "temporary_closure" not in kinds(case())


def test_what_has_begun_to_fail_is_not_retained_reduced_or_diagnosed() -> None:
    begun = rated("imminent")
    assert begun.risk == "extreme"
    assert kinds(begun) == ["restrict_target", "temporary_closure", "habitat_stem", "remove_and_replant"]


def test_a_dead_tree_is_neither_reduced_nor_braced() -> None:
    dead = case(tree=replace(LIME, dead=True))
    assert not {"reduce_crown", "install_support", "veteran_management"} & set(kinds(dead))
    (removal,) = [option for option in propose(dead) if option.kind == "remove_and_replant"]
    assert removal.balance is None
    assert any("dead" in note for note in removal.notes)


def test_a_conifer_and_a_palm_are_not_reduced() -> None:
    assert "reduce_crown" not in kinds(case(tree=replace(LIME, conifer=True)))
    assert "reduce_crown" not in kinds(case(tree=replace(LIME, palm=True)))


def test_a_large_or_old_tree_may_be_managed_as_a_veteran() -> None:
    assert "veteran_management" not in kinds(case())
    assert "veteran_management" in kinds(case(tree=replace(LIME, dbh_cm=130.0)))
    assert "veteran_management" in kinds(case(tree=replace(LIME, age_years=200.0)))


def test_a_low_risk_without_findings_is_only_looked_at() -> None:
    calm = rated("improbable", impact="low", consequences="minor")
    assert kinds(calm) == ["restrict_target", "retain_and_monitor"]


def test_without_a_rating_nothing_is_retained_or_removed() -> None:
    assert kinds(case(ratings=())) == ["advanced_diagnosis"]


def test_costs_come_from_the_card_by_size_and_access() -> None:
    found = build(case(), Choice("remove_and_replant"))
    rates = case().rates
    now = [rates.rate("remove", 72.0), rates.rate("grind_stump", 72.0), rates.rate("plant", 0.0)]
    assert found.cost_now == sum(one.cost for one in now)
    assert found.crew_hours == pytest.approx(sum(one.crew_hours for one in now))
    assert [(one.what, one.every_years, one.first_year, one.last_year) for one in found.upkeep] == [("water", 1, 1, 3)]
    difficult = build(case(site=Site("difficult", Place("none"))), Choice("remove_and_replant"))
    assert difficult.cost_now > found.cost_now


def test_a_reduction_commits_to_repeat_cuts_in_its_cost() -> None:
    found = build(case(), Choice("reduce_crown"))
    (cut,) = [one for one in found.upkeep if one.what == "reduce_crown"]
    assert (cut.every_years, cut.cost) == (5, Decimal(repr(found.cost_now)))
    years = [flow.year for flow in found.present.flows if flow.what == "reduce_crown"]
    assert years == [5, 10, 15, 20]


def test_the_next_inspection_follows_the_policy_by_the_risk_that_stays() -> None:
    before = build(case(), Choice("retain_and_monitor"))
    assert before.ends_on == months_on(TODAY, interval_months(case(), "moderate"))
    calm = rated("improbable", impact="low")
    kept = build(calm, Choice("retain_and_monitor"))
    assert kept.risk == "low"
    assert kept.checks[0].due_on == months_on(TODAY, interval_months(calm, "low"))
    assert interval_months(case(), "extreme") == 1


def test_a_support_commits_to_a_yearly_look() -> None:
    found = build(case(), Choice("install_support"))
    assert [(one.kind, one.due_on) for one in found.checks] == [("support", date(2027, 11, 25))]
    assert {(one.what, one.every_years) for one in found.upkeep} == {("inspect", 1), ("install_support", 12)}


def test_felling_loses_the_appraised_value_and_what_keeps_the_tree_does_not() -> None:
    lost = {option.kind: option.value_lost for option in propose(case())}
    assert (lost["remove_and_replant"], lost["habitat_stem"], lost["reduce_crown"]) == (9000.0, 9000.0, 0.0)
    assert build(case(tree=replace(LIME, value=None)), Choice("remove_and_replant")).value_lost is None


def test_the_replacement_is_a_species_that_fits_and_is_not_of_a_genus_in_excess() -> None:
    found = build(case(), Choice("remove_and_replant"))
    assert [one.candidate.name for one in found.replacements] == ["Carpinus betulus", "Acer campestre"]
    assert found.says == "Remove and replant with Carpinus betulus"
    assert found.balance is not None
    assert 0 < found.balance.rows[-1].canopy_m2 < found.balance.rows[-1].canopy_kept_m2


def test_the_arborist_may_name_another_species_and_is_told_what_speaks_against_it() -> None:
    found = build(case(), Choice("remove_and_replant", species="Tilia cordata"))
    assert found.replacements[0].candidate.name == "Tilia cordata"
    assert found.replacements[0].against
    with pytest.raises(MethodProblem) as caught:
        build(case(), Choice("remove_and_replant", species="Nova species"))
    assert caught.value.fields[0].pointer == "/settings/species"


def test_a_site_that_is_not_replanted_pays_for_no_planting() -> None:
    found = build(case(site=Site(replant=False)), Choice("remove_and_replant"))
    assert (found.upkeep, found.replacements) == ((), ())
    assert found.cost_now < build(case(), Choice("remove_and_replant")).cost_now
    assert found.balance is not None
    assert found.balance.rows[-1].canopy_m2 == 0


def test_what_the_arborist_sets_wins() -> None:
    own = Own(cost_now=10.0, crew_hours=0.5, upkeep=(), residual={0: ("improbable", "low", "minor")})
    found = build(case(), Choice("retain_and_monitor", own=own))
    assert (found.cost_now, found.crew_hours, float(found.present.total)) == (10.0, 0.5, 10.0)
    assert (found.residual[0].failure, found.residual[0].risk) == ("improbable", "low")
    assert found.residual[0].why == "as the arborist has set it"
    assert found.residual[1].risk == found.residual[1].risk_before


def test_a_kind_that_nothing_asks_for_can_be_added_by_hand() -> None:
    found = build(case(), Choice("veteran_management"))
    assert found.why == ("added by hand: nothing in the findings asks for it",)


@pytest.mark.parametrize(
    ("choice", "pointer"),
    [
        (Choice("topping"), "/kind"),
        (Choice("remove_part", percent=10), "/settings/percent"),
        (Choice("reduce_crown", percent=95), "/settings/percent"),
        (Choice("retain_and_monitor", months=0), "/settings/months"),
        (Choice("move_target", targets=(3,)), "/settings/targets"),
        (Choice("remove_part", findings=(-1,)), "/settings/findings"),
        (Choice("reduce_crown", own=Own(residual={9: ("improbable", "low", "minor")})), "/own/residual"),
        (Choice("reduce_crown", own=Own(residual={0: ("never", "low", "minor")})), "/own/residual"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused(choice: Choice, pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        build(case(), choice)
    assert caught.value.fields[0].pointer == pointer


def test_a_tree_of_which_nothing_is_measured_still_has_options_and_says_what_lacks() -> None:
    found = build(case(tree=Standing()), Choice("reduce_crown"))
    assert found.load == ()
    assert found.balance is None
    assert found.residual[0].failure == "probable"
    assert any("not measured" in note for note in found.notes)
    assert any("not known" in one.why for one in found.residual)


def test_a_case_whose_ratings_point_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match="target"):
        case(ratings=(Rated("stem", 7, "possible", "low", "minor"),))
    with pytest.raises(ValueError, match="finding"):
        case(ratings=(Rated("stem", 0, "possible", "low", "minor", 7),))
    with pytest.raises(ValueError, match="frame_years"):
        case(frame_years=6)


def test_a_limb_that_hangs_over_two_targets_is_cut_once() -> None:
    hanging = case(
        findings=(Finding("broken_branch", "limb"),),
        targets=(FOOTWAY, CARS),
        ratings=(
            Rated("limb", 0, "imminent", "high", "significant", 0), Rated("limb", 1, "imminent", "low", "minor", 0)
        ),
    )  # fmt: skip
    found = build(hanging, Choice("remove_part"))
    assert [one.failure for one in found.residual] == ["improbable", "improbable"]
    assert found.cost_now == hanging.rates.rate("remove_part", 72.0).cost


def test_months_end_with_the_month_where_it_is_shorter() -> None:
    assert months_on(date(2027, 12, 31), 2) == date(2028, 2, 29)
    assert months_on(date(2026, 1, 31), 12) == date(2027, 1, 31)
    assert months_on(date(2026, 12, 15), 120) == date(2036, 12, 15)


def test_a_target_that_stays_is_not_closed_off() -> None:
    house = case(targets=(Target("house", "constant", "full"),), findings=(),
                 ratings=(Rated("stem", 0, "probable", "high", "severe"),))  # fmt: skip
    assert "temporary_closure" not in kinds(house)
    assert "restrict_target" not in kinds(house)


def test_the_day_to_act_by_counts_from_the_rating_as_the_due_list_does_and_is_never_past() -> None:
    days = case().policy.act_by_days_high
    for ago, due in ((days - 10, TODAY + timedelta(days=10)), (days + 400, TODAY)):
        high = replace(rated("probable"), rated_on=TODAY - timedelta(days=ago))
        assert high.risk == "high"
        assert build(high, Choice("remove_and_replant")).act_by == due


def test_looks_of_every_half_year_are_all_paid_for() -> None:
    kept = build(rated("probable"), Choice("retain_and_monitor", months=6))
    look = case().rates.rate("inspect", 72.0).cost
    # Two looks at the end of each of 20 years at 3 %: annuity factor 14.8775 (financial tables).
    assert float(kept.present.total) == pytest.approx(2 * look * 14.8775, abs=0.01)
    assert any("every 6 months" in note for note in kept.notes)


def test_a_restriction_is_looked_at_within_the_year_however_low_the_risk_it_leaves() -> None:
    calm = build(rated("probable"), Choice("restrict_target"))
    assert calm.risk == "low"
    assert calm.checks[0].due_on == months_on(TODAY, 12)
