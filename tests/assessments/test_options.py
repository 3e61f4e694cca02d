"""Options: proposed by what was found, edited and dropped by the arborist, set side by side, none preselected."""

import json
import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from assessments import options, queries, services
from assessments.methods import rate_card
from assessments.methods.risk import RISK
from assessments.models import Inspection, Option, OptionComparison, OptionEstimate
from assessments.option_records import OptionRecord, Residual
from inventory.history import SERVICE, Author
from inventory.models import Event
from inventory.problems import Conflict, Invalid, Refusal, Stale
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as looks
from tests.support.inspections import TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)


def hollow_lime(risk: str = "high", **target: Any) -> Inspection:
    """A lime with a cavity in its stem over a path, rated."""
    cavity = looks.finding("cavity", height_m=1.0, measures={"opening_percent": 25.0})
    record = looks.record(
        findings=(cavity,),
        targets=(looks.target(**{"restrictable": True} | target),),
        ratings=(looks.rating(risk, finding=0),),
        frame_years=3,
    )
    return looks.inspected(build.tree(dbh_cm=80.0), record)


def proposed(inspection: Inspection) -> dict[str, Option]:
    return {one.kind: one for one in services.propose_options(SERVICE, inspection, TODAY)}


def result(option: Option) -> dict[str, Any]:
    return dict(options.said(queries.option(option.uid)))


def everything() -> list[int]:
    models: list[Any] = [Option, OptionEstimate, OptionComparison, Event]
    return [model.objects.count() for model in models]


def refused(call: Any, *pointers: str, kind: type[Refusal] = Invalid) -> Refusal:
    before = everything()
    with pytest.raises(kind) as caught:
        call()
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)
    return caught.value


def record(kind: str = "reduce_crown", **fields: Any) -> OptionRecord:
    return OptionRecord(uid=fields.pop("uid", None) or uuid.uuid4(), kind=kind, **fields)


def edit(option: Option, version: int | None = None, **changes: Any) -> Option:
    now = Option.objects.get(pk=option.pk)
    at = now.version if version is None else version
    return services.edit_option(SERVICE, now, changes, version=at, today=TODAY)


def test_the_target_is_considered_first_and_removal_last() -> None:
    kinds = list(proposed(hollow_lime()))
    assert kinds[0] == "restrict_target"
    assert kinds[-1] == "remove_and_replant"
    assert {"retain_and_monitor", "reduce_crown", "advanced_diagnosis"} <= set(kinds)


def test_a_target_that_cannot_be_restricted_is_not_proposed_to_be() -> None:
    assert "restrict_target" not in proposed(hollow_lime(restrictable=False))


def test_each_option_says_what_it_costs_leaves_and_rests_on() -> None:
    for option in proposed(hollow_lime()).values():
        estimate = options.newest(option)
        assert estimate is not None
        said = estimate.result
        assert said["currency"] == "EUR"
        assert said["present_value"] >= said["cost_now"] >= 0
        assert said["risk"] in RISK
        assert {"residual", "checks", "canopy", "value_lost", "risk_years", "cost_years", "cautions"} <= set(said)
        assert "rate_card/" in estimate.methods
        assert estimate.rate_card_version == 0


def test_the_cost_of_a_removal_is_that_of_the_rate_card() -> None:
    card = rate_card.default_rate_card()
    said = result(proposed(hollow_lime())["remove_and_replant"])
    jobs = [card.rate("remove", 80.0), card.rate("grind_stump", 80.0), card.rate("plant", 0.0)]
    assert said["cost_now"] == sum(job.cost for job in jobs)
    assert said["crew_hours"] == sum(job.crew_hours for job in jobs)
    assert said["risk"] == "low"
    assert said["value_lost"] > 0


def test_retaining_leaves_the_risk_as_it_is_and_says_when_to_look_again() -> None:
    said = result(proposed(hollow_lime())["retain_and_monitor"])
    assert said["risk"] == "high"
    assert [one["kind"] for one in said["checks"]] == ["reinspect"]
    assert all(one["due_on"] > TODAY.isoformat() for one in said["checks"])


def test_proposing_again_changes_nothing() -> None:
    inspection = hollow_lime()
    proposed(inspection)
    before = everything()[:3]
    proposed(inspection)
    assert everything()[:3] == before


def test_nothing_is_preselected() -> None:
    inspection = hollow_lime()
    rows = proposed(inspection).values()
    assert not any(name for name in vars(next(iter(rows))) if "select" in name or "chosen" in name)
    comparison = queries.option_comparison(inspection)
    assert comparison is not None
    assert not any("selected" in one or "recommended" in one for one in comparison.result["options"])


def test_options_are_set_side_by_side_with_the_reason_why_one_is_dominated() -> None:
    inspection = hollow_lime()
    rows = proposed(inspection)
    comparison = queries.option_comparison(inspection)
    assert comparison is not None
    by_uid = {one["option"]: one for one in comparison.result["options"]}
    assert set(by_uid) == {str(one.uid) for one in rows.values()}
    for one in by_uid.values():
        assert len(one["dominated_by"]) == len(one["reasons"])
        assert set(one["dominated_by"]) <= set(by_uid)


def test_what_a_further_diagnosis_is_worth_is_shown_at_three_exchange_rates() -> None:
    inspection = hollow_lime()
    proposed(inspection)
    found = queries.option_comparison(inspection)
    assert found is not None
    information = found.result["information"]
    rates = [one["money_per_harm"] for one in information["values"]]
    assert rates == pytest.approx([rates[1] / 10, rates[1], rates[1] * 10])
    assert information["verdict"] in ("worthwhile", "not_worthwhile", "undetermined")
    assert all(one["gross"] >= 0 for one in information["values"])


def test_another_rate_card_adds_an_estimate_and_keeps_the_older_one() -> None:
    inspection = hollow_lime()
    option = proposed(inspection)["reduce_crown"]
    before = result(option)["cost_now"]
    card = json.loads(rate_card.default_rate_card_text())
    card["actions"]["reduce_crown"]["large"]["ordinary"]["cost"] += 100
    services.adopt_rate_card(SERVICE, card, "dearer")
    proposed(inspection)
    newest, oldest = queries.option(option.uid).estimates.all()
    assert (newest.rate_card_version, oldest.rate_card_version) == (1, 0)
    assert (newest.result["cost_now"], oldest.result["cost_now"]) == (before + 100, before)


def test_how_the_tree_is_reached_sets_the_rates_and_is_remembered() -> None:
    inspection = hollow_lime()
    easy = {one.kind: one for one in services.propose_options(SERVICE, inspection, TODAY, "easy")}
    card = rate_card.default_rate_card()
    assert result(easy["reduce_crown"])["cost_now"] == card.rate("reduce_crown", 80.0, "easy").cost
    again = proposed(inspection)
    assert result(again["reduce_crown"])["access"] == "easy"
    refused(lambda: services.propose_options(SERVICE, inspection, TODAY, "by boat"), "#/access")


def test_the_arborist_adds_an_option_once() -> None:
    inspection, person = hollow_lime(), build.user("inspector")
    said = record(parameters={"percent": 20})
    author = Author(person.pk, "request-4")
    first, created = services.add_option(author, inspection, said, TODAY)
    again, created_again = services.add_option(author, inspection, said, TODAY)
    assert (created, created_again, again.pk, first.source) == (True, False, first.pk, "arborist")
    assert result(first)["load"][0]["moment_reduced_percent"] > 0
    assert Event.objects.get(kind="option.added").actor_id == person.pk
    other = replace(said, note="another word")
    refused(lambda: services.add_option(author, inspection, other, TODAY), kind=Conflict)
    twin = replace(said, uid=uuid.uuid4())
    refused(lambda: services.add_option(author, inspection, twin, TODAY), kind=Conflict)


def test_two_reductions_of_different_shares_stand_side_by_side() -> None:
    inspection = hollow_lime()
    proposed(inspection)
    for percent in (15, 25):
        services.add_option(SERVICE, inspection, record(parameters={"percent": percent}), TODAY)
    keys = [one.key for one in queries.options_of(inspection) if one.kind == "reduce_crown"]
    assert keys == ["reduce_crown", 'reduce_crown {"percent":15}', 'reduce_crown {"percent":25}']


@pytest.mark.parametrize(
    ("pointer", "fields"),
    [
        ("#/kind", {"kind": "hope"}),
        ("#/parameters/percent", {"parameters": {"percent": 95}}),
        ("#/parameters/colour", {"parameters": {"colour": "green"}}),
        ("#/own_why", {"own_cost": Decimal(900)}),
        ("#/own_residual/0/rating", {"own_residual": (Residual(uuid.UUID(int=7), "improbable", "low", "minor"),)}),
    ],
)
def test_a_wrong_field_of_an_option_is_named_and_nothing_is_changed(pointer: str, fields: dict[str, Any]) -> None:
    inspection = hollow_lime()
    said = record(**{"own_why": "" if pointer == "#/own_why" else "seen"} | fields)
    refused(lambda: services.add_option(SERVICE, inspection, said, TODAY), pointer)


def test_what_the_arborist_states_stands_beside_what_the_method_said() -> None:
    option = proposed(hollow_lime())["reduce_crown"]
    before = result(option)
    edit(option, own_cost=Decimal("4321.50"), own_why="needs a crane")
    after = result(option)
    assert after["cost_now"] == 4321.5
    assert after["method_said"]["cost_now"] == before["cost_now"]
    assert after["present_value"] == pytest.approx(before["present_value"] + 4321.5 - before["cost_now"], abs=0.02)
    edit(option, own_cost=None, own_why="")
    assert result(option) == before


def test_the_residual_risk_that_the_arborist_states_counts_with_its_reason() -> None:
    inspection = hollow_lime()
    option = proposed(inspection)["retain_and_monitor"]
    own = (Residual(inspection.ratings.get().uid, "improbable", "low", "minor"),)
    refused(lambda: edit(option, own_residual=own), "#/own_why")
    edit(option, own_residual=own, own_why="opened with a drill: sound")
    assert (result(option)["risk"], result(option)["method_said"]["risk"]) == ("low", "high")


def test_a_dropped_option_says_why_leaves_the_comparison_and_may_come_back() -> None:
    inspection = hollow_lime()
    option = proposed(inspection)["reduce_crown"]
    edit(option, dropped_why="a third of the crown was taken last year")
    compared = queries.option_comparison(inspection)
    assert compared is not None
    assert str(option.uid) not in [one["option"] for one in compared.result["options"]]
    assert proposed(inspection)["reduce_crown"].dropped_why, "what was dropped stays dropped"
    edit(option, dropped_why="")
    compared = queries.option_comparison(inspection)
    assert compared is not None
    assert str(option.uid) in [one["option"] for one in compared.result["options"]]


def test_an_edit_of_an_older_version_is_refused() -> None:
    option = proposed(hollow_lime())["reduce_crown"]
    edit(option, note="from the road side")
    refused(lambda: edit(option, version=1, note="other"), kind=Stale)


def test_a_tree_that_is_gone_has_no_options() -> None:
    inspection = hollow_lime()
    remove_tree(SERVICE, inspection.tree, on=TODAY, reason="felled", stump_ground=True)
    refused(lambda: services.propose_options(SERVICE, inspection, TODAY), kind=Conflict)
    refused(lambda: services.add_option(SERVICE, inspection, record(), TODAY), kind=Conflict)


def test_where_nothing_was_rated_only_a_diagnosis_is_proposed() -> None:
    rows = proposed(looks.inspected(build.tree(dbh_cm=60.0), looks.record(findings=(looks.finding(),))))
    assert list(rows) == ["advanced_diagnosis"]


def test_a_replacement_is_no_genus_that_the_city_has_too_much_of() -> None:
    for number in range(3):
        build.tree(number * 15 + 100)
    build.tree(300, species_id=build.species("Acer campestre", family="Sapindaceae", mature_height_m=12.0).pk)
    said = result(proposed(hollow_lime())["remove_and_replant"])
    assert all(not one["species"].startswith("Tilia") for one in said["replacements"] if one["fits"])


def test_the_number_of_statements_does_not_grow_with_the_options(django_assert_max_num_queries: Any) -> None:
    inspection = hollow_lime()
    with django_assert_max_num_queries(45):
        proposed(inspection)
    for percent in (12, 14, 16, 18):
        services.add_option(SERVICE, inspection, record(parameters={"percent": percent}), TODAY)
    with django_assert_max_num_queries(45):
        proposed(inspection)


def test_one_setting_spelt_differently_is_one_option() -> None:
    inspection = hollow_lime()
    services.add_option(SERVICE, inspection, record(parameters={"percent": 15}), TODAY)
    for same in ({"percent": 15.0}, {"percent": 15, "months": None}):
        with pytest.raises(Conflict, match="there already"):
            services.add_option(SERVICE, inspection, record(parameters=same), TODAY)
    proposed(inspection)
    with pytest.raises(Conflict, match="there already"):
        services.add_option(SERVICE, inspection, record(parameters={"percent": None}), TODAY)


def test_no_option_is_to_be_done_before_the_inspection() -> None:
    inspection = hollow_lime()
    refused(lambda: services.add_option(SERVICE, inspection, record(act_by=TODAY - DAY), TODAY), "#/act_by")


def test_the_table_holds_so_many_options_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(options, "MOST_ON_TABLE", 2)
    inspection = hollow_lime()
    first, _ = services.add_option(SERVICE, inspection, record("retain_and_monitor"), TODAY)
    services.add_option(SERVICE, inspection, record("habitat_stem"), TODAY)
    with pytest.raises(Conflict, match="drop one first"):
        services.add_option(SERVICE, inspection, record("remove_and_replant"), TODAY)
    edit(first, dropped_why="not wanted")
    services.add_option(SERVICE, inspection, record("remove_and_replant"), TODAY)
    with pytest.raises(Conflict, match="drop one first"):
        edit(first, dropped_why="")
