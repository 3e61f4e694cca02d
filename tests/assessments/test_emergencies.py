"""Emergencies: a partial record suffices, the number comes at once, a late one pages nobody."""

import uuid
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from assessments import queries, services
from assessments.models import EmergencyAction, Inspection, Priority, RequiredCheck
from assessments.records import ActionRecord, InspectionRecord
from assessments.services import Recorded
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
MINUTE = timedelta(minutes=1)


def declared(**fields: Any) -> InspectionRecord:
    """A bare emergency: nothing but that it is one."""
    fields.setdefault("inspected_at", make.NOW - 5 * MINUTE)
    return make.record(emergency=True, trigger="emergency", level="limited_visual", **fields)


def recorded(tree: Tree, record: InspectionRecord) -> Recorded:
    return services.record_inspections(SERVICE, [(tree, record)], make.TODAY, now=make.NOW)[0]


def raised() -> list[dict[str, Any]]:
    return [event.data for event in Event.objects.filter(kind="emergency.raised").order_by("pk")]


def test_a_partial_record_suffices_and_the_number_comes_at_once() -> None:
    tree = build.tree()
    answer = recorded(tree, declared()).emergency
    assert answer is not None
    assert (answer.cause, answer.phone, answer.late) == ("declared", "112", False)
    assert answer.unanswered == ("done_on_spot", "closed_at", "told_whom")
    assert "112" in answer.advice
    assert [(data["cause"], data["late"]) for data in raised()] == [("declared", False)]
    check = RequiredCheck.objects.get()
    assert (check.source, check.due_on, check.closed_on) == ("emergency", date(2026, 12, 2), None)


def test_an_unrated_emergency_is_to_be_acted_on_that_day_and_stays_unrated() -> None:
    tree = build.tree()
    recorded(tree, declared())
    row = Priority.objects.get(tree=tree)
    assert (row.risk, row.act_by) == (0, make.TODAY)
    assert [one.tree_id for one in queries.open_emergencies()] == [tree.pk]


@pytest.mark.parametrize(
    ("failure", "impact", "consequences", "cause"),
    [
        ("imminent", "high", "severe", "extreme_risk"),
        ("imminent", "low", "minor", "imminent_failure"),
        ("imminent", "very_low", "minor", ""),
        ("probable", "high", "severe", ""),
    ],
)
def test_an_emergency_follows_from_the_rating(failure: str, impact: str, consequences: str, cause: str) -> None:
    rating = make.rating(failure=failure, impact=impact, consequences=consequences)
    record = make.record(targets=(make.target(),), ratings=(rating,), frame_years=1)
    found = recorded(build.tree(), record)
    assert found.inspection.emergency == cause
    assert (found.emergency is not None) == bool(cause)
    assert [data["cause"] for data in raised()] == ([cause] if cause else [])


def test_answers_that_come_later_are_added_and_never_replaced() -> None:
    tree = build.tree()
    inspection = recorded(tree, declared(actions=ActionRecord(done_on_spot="closed the path"))).inspection
    later = ActionRecord(uid=uuid.uuid4(), closed_at=make.NOW, told_whom="the police")
    _, created = services.record_actions(SERVICE, inspection, later)
    _, again = services.record_actions(SERVICE, inspection, later)
    assert (created, again) == (True, False)
    rows = list(EmergencyAction.objects.order_by("pk").values_list("done_on_spot", "told_whom"))
    assert rows == [("closed the path", ""), ("", "the police")]
    with pytest.raises(Conflict):
        services.record_actions(SERVICE, inspection, replace(later, told_whom="nobody"))
    assert EmergencyAction.objects.count() == 2


def test_empty_answers_and_answers_to_no_emergency_are_refused() -> None:
    tree = build.tree()
    with pytest.raises(Invalid):
        services.record_actions(SERVICE, recorded(tree, declared()).inspection, ActionRecord(uid=uuid.uuid4()))
    calm = make.inspected(tree)
    with pytest.raises(Conflict):
        services.record_actions(SERVICE, calm, ActionRecord(uid=uuid.uuid4(), told_whom="the police"))
    assert not EmergencyAction.objects.exists()


def test_an_emergency_that_comes_late_is_a_fact_and_says_so() -> None:
    tree = build.tree()
    answer = recorded(tree, declared(inspected_at=make.NOW - timedelta(hours=30))).emergency
    assert answer is not None
    assert (answer.late, answer.age_hours) == (True, 30.0)
    assert "nobody is paged" in answer.advice
    assert "112" in answer.advice
    assert [(data["late"], data["age_hours"]) for data in raised()] == [(True, 30.0)]
    assert RequiredCheck.objects.get(tree=tree).source == "emergency"


def test_an_emergency_at_a_tree_that_is_gone_by_now_is_refused_and_changes_nothing() -> None:
    tree = build.tree()
    remove_tree(SERVICE, tree, on=make.TODAY, reason="felled", stump_ground=False)
    events = Event.objects.count()
    with pytest.raises(Conflict, match="the emergency is over"):
        recorded(tree, declared(inspected_at=make.NOW - timedelta(hours=30)))
    assert not Inspection.objects.exists()
    assert not RequiredCheck.objects.exists()
    assert Event.objects.count() == events


def test_a_bare_emergency_note_closes_no_check_and_a_rating_answers_it() -> None:
    tree = build.tree()
    recorded(tree, declared(inspected_at=make.NOW - timedelta(days=3)))
    recorded(tree, declared(inspected_at=make.NOW - timedelta(days=2)))
    assert RequiredCheck.objects.filter(closed_on=None).count() == 2
    make.inspected(tree, make.rated("moderate", make.TODAY - timedelta(days=1)))
    assert not RequiredCheck.objects.filter(closed_on=None).exists()
    assert not queries.open_emergencies().exists()
    row = Priority.objects.get(tree=tree)
    assert (row.risk, row.act_by) == (2, None)
