"""Decisions: recorded once, one in force, with the checks they commit to; a lapsed one is due again."""

import uuid
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments import queries, services
from assessments.models import Decision, Option, Priority, RequiredCheck
from assessments.option_records import DecisionRecord, Residual
from assessments.records import AskedCheck
from assessments.works.models import OrderItem
from inventory.history import SERVICE, Author
from inventory.models import Event
from inventory.problems import Conflict, Invalid, Refusal
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as looks
from tests.support import options as make
from tests.support.inspections import TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)
YEAR = timedelta(days=365)
SIGNED: dict[str, Any] = {"accepted_risk": "a limb may fall on the path in a storm", "ends_on": TODAY + YEAR}


def everything() -> list[int]:
    models: list[Any] = [Decision, RequiredCheck, Event, OrderItem]
    return [model.objects.count() for model in models]


def refused(option: Option, record: DecisionRecord, *pointers: str, kind: type[Refusal] = Invalid) -> Refusal:
    before = everything()
    with pytest.raises(kind) as caught:
        services.take_decision(SERVICE, option, record, TODAY)
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)
    return caught.value


def test_a_decision_says_who_decided_what_and_tells_of_itself() -> None:
    person, tree = build.user("forester"), build.tree()
    option = make.chosen(tree)
    decision = make.decided(option, Author(person.pk, "request-9"))
    assert (decision.decided_by, decision.office, decision.recorded_by_id) == ("Maren Holt", "head of parks", person.pk)
    assert decision.inspection == option.inspection
    event = Event.objects.get(kind="decision.taken")
    assert (event.actor_id, event.request, event.tree_id) == (person.pk, "request-9", tree.pk)
    assert event.data["kind"] == "retain_and_monitor"


def test_a_decision_makes_no_work_and_is_open_for_the_program() -> None:
    decision = make.decided(make.chosen(build.tree()))
    assert not OrderItem.objects.exists()
    assert list(queries.open_decisions(TODAY)) == [decision]


def test_the_checks_of_the_option_become_required_checks() -> None:
    tree = build.tree()
    due = TODAY + 200 * DAY
    option = make.chosen(tree, checks=[{"kind": "support", "due_on": due.isoformat(), "why": "look at the cable"}])
    decision = make.decided(option)
    check = RequiredCheck.objects.get(tree=tree)
    assert (check.kind, check.due_on, check.source, check.decision) == ("support", due, "decision", decision)


def test_the_decision_may_ask_for_other_checks_than_its_option() -> None:
    tree = build.tree()
    option = make.chosen(tree, checks=[{"kind": "support", "due_on": "2027-01-01", "why": "look at the cable"}])
    make.decided(option, checks=(AskedCheck("reinspect", TODAY + 30 * DAY, "the owner wants to know"),))
    assert RequiredCheck.objects.get(tree=tree).why == "the owner wants to know"


def test_an_end_date_is_due_and_only_the_next_decision_settles_it() -> None:
    tree = build.tree()
    ends = TODAY + 60 * DAY
    make.decided(make.chosen(tree, "moderate"), accepted_risk="a limb may fall", ends_on=ends)
    assert Priority.objects.get(tree=tree).by_check == ends
    later = ends + 10 * DAY
    services.record_inspection(SERVICE, tree, looks.rated("moderate", later), later, now=looks.noon(later))
    assert Priority.objects.get(tree=tree).by_check == ends
    assert list(queries.decisions("lapsed", later)) == [queries.decision_in_force(tree)]
    again = make.option(queries.inspections_of(tree)[0], stays="low")
    make.decided(again, today=later, on=later)
    assert Priority.objects.get(tree=tree).by_check is None
    assert not queries.decisions("lapsed", later + 400 * DAY).exists()


def test_nobody_asks_for_the_end_of_a_decision_or_withdraws_it() -> None:
    tree = build.tree()
    make.decided(make.chosen(tree, "high"), **SIGNED)
    end = RequiredCheck.objects.get(tree=tree, kind="decision_end")
    with pytest.raises(Conflict, match="next decision"):
        services.withdraw_check(SERVICE, end.uid, "not needed")
    with pytest.raises(Invalid):
        services.ask_check(SERVICE, tree, kind="decision_end", due_on=TODAY + DAY, why="decide anew")


def test_an_accepted_high_risk_is_to_be_acted_on_when_the_acceptance_ends() -> None:
    tree = build.tree()
    option = make.chosen(tree, "high")
    must = Priority.objects.get(tree=tree).act_by
    ends = TODAY + 200 * DAY
    make.decided(option, accepted_risk="the stem may break in a storm", ends_on=ends)
    assert must is not None
    assert must < ends
    assert Priority.objects.get(tree=tree).act_by == ends
    assert any("accepted the risk" in said for said in queries.priority_of(tree, TODAY).reasons)


def test_a_new_rating_is_not_covered_by_an_acceptance_of_the_one_before() -> None:
    tree = build.tree()
    make.decided(make.chosen(tree, "high", on=TODAY - 5 * DAY), on=TODAY - 4 * DAY, **SIGNED)
    looks.inspected(tree, looks.rated("high", TODAY))
    act_by = Priority.objects.get(tree=tree).act_by
    assert act_by is not None
    assert act_by < TODAY + 60 * DAY


def test_what_was_decided_to_be_done_is_due_until_work_is_reported() -> None:
    tree = build.tree()
    by = TODAY + 9 * DAY
    make.decided(make.chosen(tree, risk="moderate"), act_by=by)
    assert Priority.objects.get(tree=tree).act_by == by
    services.ask_check(SERVICE, tree, kind="after_work", due_on=TODAY + DAY, why="crown reduced", source="order")
    assert Priority.objects.get(tree=tree).act_by is None


def test_a_lapsed_decision_puts_its_tree_on_the_due_list() -> None:
    tree = build.tree()
    ends = TODAY + 20 * DAY
    make.decided(make.chosen(tree, "moderate", risk="moderate"), accepted_risk="a limb may fall", ends_on=ends)
    due = [item.tree_id for item in queries.due_list(ends + DAY, kind="inspect", before=ends + DAY).items]
    assert due == [tree.pk]
    (item,) = queries.due_list(ends + DAY).items
    assert item.rule == "check"
    assert item.inspect_by == ends


def test_changing_ones_mind_withdraws_the_checks_of_the_earlier_decision() -> None:
    tree = build.tree()
    first = make.decided(make.chosen(tree, "high"), **SIGNED)
    second = make.decided(make.option(first.inspection, "remove_and_replant"), why="the cavity has opened")
    assert (second.supersedes, queries.decision_in_force(tree)) == (first, second)
    check = RequiredCheck.objects.get(decision=first)
    assert check.closed_on == TODAY
    assert "superseded" in check.withdrawn_why


def test_the_same_decision_again_changes_nothing() -> None:
    option = make.chosen(build.tree(), "high")
    record = make.record(**SIGNED)
    first, created = services.take_decision(SERVICE, option, record, TODAY)
    before = everything()
    again, created_again = services.take_decision(SERVICE, option, record, TODAY + YEAR)
    assert (created, created_again, again.pk) == (True, False, first.pk)
    assert everything() == before


def test_the_same_decision_again_changes_nothing_after_it_was_superseded() -> None:
    option = make.chosen(build.tree())
    record = make.record()
    services.take_decision(SERVICE, option, record, TODAY)
    newer = make.decided(option, why="another reason")
    before = everything()
    assert services.take_decision(SERVICE, option, record, TODAY)[1] is False
    assert everything() == before
    assert queries.decision_in_force(newer.tree) == newer


def test_the_same_uid_with_other_content_is_refused() -> None:
    option = make.chosen(build.tree())
    record = make.record()
    services.take_decision(SERVICE, option, record, TODAY)
    refused(option, replace(record, why="something else"), kind=Conflict)
    refused(make.option(option.inspection, key="another"), record, kind=Conflict)


@pytest.mark.parametrize(
    ("pointers", "changes"),
    [
        (("#/decided_by",), {"decided_by": " "}),
        (("#/office",), {"office": ""}),
        (("#/why",), {"why": " "}),
        (("#/decided_on",), {"decided_on": TODAY + DAY}),
        (("#/decided_on",), {"decided_on": TODAY - DAY}),
        (("#/ends_on",), {"ends_on": TODAY - DAY}),
        (("#/ends_on",), {"accepted_risk": "a limb may fall"}),
        (("#/act_by",), {"act_by": TODAY - DAY}),
        (("#/checks/0/kind",), {"checks": (AskedCheck("decision_end", TODAY + DAY, "decide anew"),)}),
        (("#/checks/0/why",), {"checks": (AskedCheck("reinspect", TODAY + DAY, " "),)}),
        (("#/checks/0/due_on",), {"checks": (AskedCheck("reinspect", TODAY - DAY, "look again"),)}),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_changed(pointers: tuple[str, ...], changes: dict[str, Any]) -> None:
    refused(make.chosen(build.tree()), replace(make.record(), **changes), *pointers)


@pytest.mark.parametrize("stays", ["moderate", "high", "extreme"])
def test_a_risk_that_stays_is_accepted_in_words_until_a_day(stays: str) -> None:
    option = make.chosen(build.tree(), stays)
    problem = refused(option, make.record(), "#/accepted_risk", "#/ends_on")
    assert stays in problem.detail
    assert make.decided(option, **SIGNED).ends_on == TODAY + YEAR


def test_signs_that_no_line_shows_accept_no_risk() -> None:
    option = make.chosen(build.tree(), "high")
    refused(option, make.record(accepted_risk="\u200b\u2060", ends_on=TODAY + YEAR), "#/accepted_risk")
    refused(option, make.record(**SIGNED, why="\u200b"), "#/why")


def test_a_risk_is_accepted_no_longer_than_it_is_rated_for() -> None:
    option = make.chosen(build.tree(), "high")
    words = "the risk to the footpath is accepted"
    refused(option, make.record(accepted_risk=words, ends_on=date(2031, 11, 26)), "#/ends_on")
    assert make.decided(option, accepted_risk=words, ends_on=date(2031, 11, 25)).accepted_risk == words


def test_a_risk_that_nothing_states_is_accepted_in_words_too() -> None:
    inspection = looks.inspected(build.tree(), looks.record())
    refused(make.option(inspection), make.record(), "#/accepted_risk", "#/ends_on")
    assert make.decided(make.option(inspection, "remove_and_replant")).accepted_risk == ""


def test_what_the_arborist_states_of_the_residual_risk_counts_before_the_methods() -> None:
    tree = build.tree()
    inspection = looks.inspected(tree, looks.rated("high", TODAY))
    kept = next(one for one in services.propose_options(SERVICE, inspection, TODAY) if one.kind == "retain_and_monitor")
    refused(kept, make.record(), "#/accepted_risk", "#/ends_on")
    own = (Residual(inspection.ratings.get().uid, "improbable", "low", "minor"),)
    edited = {"own_residual": own, "own_why": "seen from the lift"}
    services.edit_option(SERVICE, kept, edited, version=kept.version, today=TODAY)
    assert make.decided(kept, checks=()).chosen["residual_risk"] == "low"


def test_a_later_edit_of_an_option_changes_no_decision() -> None:
    option = make.chosen(build.tree())
    decision = make.decided(option)
    with SERVICE.acting("option edited"):
        Option.objects.filter(pk=option.pk).update(note="now with a cable")
    decision.refresh_from_db()
    assert decision.chosen["note"] == ""
    assert decision.chosen["estimate"]["methods"] == "test/1"


def test_a_dropped_option_cannot_be_chosen() -> None:
    option = make.chosen(build.tree())
    with SERVICE.acting("option dropped"):
        Option.objects.filter(pk=option.pk).update(dropped_why="no lift can get there")
    refused(option, make.record(), kind=Conflict)


def test_a_decision_older_than_the_one_in_force_is_refused() -> None:
    tree = build.tree()
    option = make.chosen(tree, on=TODAY - 10 * DAY)
    make.decided(option, on=TODAY - 2 * DAY)
    refused(option, make.record(TODAY - 3 * DAY), kind=Conflict)


def test_a_decision_about_a_tree_that_was_gone_by_then_is_refused_and_a_late_one_is_taken() -> None:
    tree = build.tree()
    option = make.chosen(tree, "high", on=TODAY - 10 * DAY)
    remove_tree(SERVICE, tree, on=TODAY - 2 * DAY, reason="felled", stump_ground=True)
    refused(option, make.record(TODAY - DAY, **SIGNED), kind=Conflict)
    decision = make.decided(option, on=TODAY - 3 * DAY, **SIGNED)
    assert not RequiredCheck.objects.filter(decision=decision).exists()
    assert not queries.open_decisions(TODAY).exists()


def test_work_reported_since_answers_a_decision() -> None:
    tree = build.tree()
    make.decided(make.chosen(tree))
    services.ask_check(SERVICE, tree, kind="after_work", due_on=TODAY + DAY, why="crown reduced", source="order")
    assert not queries.open_decisions(TODAY).exists()
    assert queries.decisions("in_force", TODAY).count() == 1


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(st.integers(0, 2), st.sampled_from(["low", "high"])), min_size=1, max_size=6))
def test_whatever_is_decided_exactly_one_decision_is_in_force(steps: list[tuple[int, str]]) -> None:
    """Law: after any row of decisions, some sent twice, one is in force and only its checks are open."""
    tree = build.tree(tag=str(uuid.uuid4())[:12])
    inspection = looks.inspected(tree, looks.rated("high", TODAY - 30 * DAY))
    options = {stays: make.option(inspection, stays=stays, key=stays) for stays in ("low", "high")}
    records = [make.record(date(2026, 11, 1) + place * DAY, uid=uuid.uuid4()) for place in range(3)]
    for place, stays in steps:
        record = replace(records[place], uid=uuid.uuid5(records[place].uid, stays))
        if stays == "high":
            record = replace(record, accepted_risk="a limb may fall", ends_on=TODAY + YEAR)
        try:
            services.take_decision(SERVICE, options[stays], record, TODAY)
        except Conflict:
            continue  # older than the one in force
    in_force = list(Decision.objects.filter(tree=tree, superseded_by=None))
    assert len(in_force) == 1
    open_checks = RequiredCheck.objects.filter(tree=tree, closed_on=None)
    assert {check.decision_id for check in open_checks} <= {in_force[0].pk}
    assert open_checks.exists() == (in_force[0].ends_on is not None)
