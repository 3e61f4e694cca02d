"""Inspections, checks, due dates and policies over HTTP."""

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from rest_framework.test import APIClient

from assessments.methods import policy as methods
from assessments.methods.catalogue import KINDS
from assessments.models import Inspection, Priority, RequiredCheck
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as make
from tests.support.http import V1, as_role, key, pointers, problem

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
HANGER = {"kind": "broken_branch", "part": "branch", "measures": {"state": "hanging", "diameter_cm": 12}}
PATH = {"kind": "people", "label": "footpath", "occupancy": "constant", "exposure": "full"}


@pytest.fixture(autouse=True)
def _today() -> Any:
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def inspector() -> APIClient:
    return as_role("inspector")


@pytest.fixture
def tree() -> Tree:
    return build.tree(dbh_cm=90)


def body(**members: Any) -> dict[str, Any]:
    return {"uid": str(uuid.uuid4()), "inspected_at": "2026-11-25T11:30:00+00:00", "level": "basic", **members}


def rated(**members: Any) -> dict[str, Any]:
    rating = {
        "part": "branch",
        "finding": 0,
        "target": 0,
        "failure": "imminent",
        "impact": "high",
        "consequences": "minor",
    }
    return body(findings=[HANGER], targets=[PATH], ratings=[rating], frame_years=1, **members)


def test_an_inspection_is_recorded_read_and_sent_again(inspector: APIClient, tree: Tree) -> None:
    sent = rated(limits="crown in leaf")
    first = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent)
    assert first.status_code == 201, first.content
    assert first["Location"] == f"{V1}/inspections/{sent['uid']}"
    again = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent)
    assert (again.status_code, again.json()) == (200, first.json())
    shown = inspector.get(first["Location"]).json()
    assert shown == {name: value for name, value in first.json().items() if name != "emergency_answer"}
    assert (shown["tree"], shown["risk"], shown["limits"]) == (str(tree.uid), "moderate", "crown in leaf")
    (rating,) = shown["ratings"]
    assert (rating["failure_suggested"], rating["impact_suggested"], rating["risk"]) == ("imminent", "high", "moderate")
    assert rating["finding"] == shown["findings"][0]["uid"]
    assert shown["findings"][0]["label"] == KINDS["broken_branch"].label
    listed = inspector.get(f"{V1}/trees/{tree.uid}/inspections").json()
    assert (listed["items"], listed["next"]) == ([shown], None)
    priority = inspector.get(f"{V1}/trees/{tree.uid}/priority").json()
    assert (priority["risk"], priority["harm"]["unit"].split()[0]) == ("moderate", "expected")
    assert any("Inspect by" in reason for reason in priority["reasons"])


def test_the_same_uid_with_other_content_is_a_conflict(inspector: APIClient, tree: Tree) -> None:
    sent = body()
    assert inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).status_code == 201
    problem(inspector.post(f"{V1}/trees/{tree.uid}/inspections", {**sent, "note": "other"}), 409, "conflict")
    assert Inspection.objects.get().note == ""


@pytest.mark.parametrize(
    ("members", "pointer"),
    [
        (
            {"findings": [{**HANGER, "measures": {"state": "hanging", "diameter_cm": 9999}}]},
            "#/findings/0/measures/diameter_cm",
        ),
        ({"findings": [{**HANGER, "measures": {"state": ["hanging"]}}]}, "#/findings/0/measures/state"),
        ({"findings": [{**HANGER, "colour": "red"}]}, "#/findings/0/colour"),
        ({"targets": [{**PATH, "occupancy": "always"}]}, "#/targets/0/occupancy"),
        ({"inspected_at": "2026-11-26T09:00:00+00:00"}, "#/inspected_at"),
        ({"inspected_at": "2026-11-25"}, "#/inspected_at"),
        ({"frame_years": 9}, "#/frame_years"),
        ({"level": "thorough"}, "#/level"),
        ({"emergency": "yes"}, "#/emergency"),
        ({"uid": "1"}, "#/uid"),
    ],
)
def test_a_wrong_member_is_named_and_nothing_is_stored(
    members: dict[str, Any], pointer: str, inspector: APIClient, tree: Tree
) -> None:
    events = Event.objects.count()
    answer = problem(inspector.post(f"{V1}/trees/{tree.uid}/inspections", body(**members)), 400, "invalid")
    assert pointer in pointers(answer)
    assert not Inspection.objects.exists()
    assert Event.objects.count() == events


def test_an_emergency_is_answered_with_the_number_and_completed_later(inspector: APIClient, tree: Tree) -> None:
    sent = body(level="limited_visual", trigger="emergency", emergency=True)
    answer = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["emergency_answer"]
    assert (answer["phone"], answer["late"], answer["cause"]) == ("112", False, "declared")
    assert answer["unanswered"] == ["done_on_spot", "closed_at", "told_whom"]
    url = f"{V1}/inspections/{sent['uid']}/emergency-actions"
    later = {"uid": str(uuid.uuid4()), "done_on_spot": "closed the path", "closed_at": "2026-11-25T11:40:00+00:00"}
    first, again = inspector.post(url, later), inspector.post(url, later)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["emergency_answer"]["unanswered"] == ["told_whom"]
    assert [one["done_on_spot"] for one in first.json()["emergency_actions"]] == ["closed the path"]
    problem(inspector.post(url, {**later, "told_whom": "police"}), 409, "conflict")
    assert pointers(problem(inspector.post(url, {"uid": str(uuid.uuid4())}), 400, "invalid")) == {"#"}


def test_an_emergency_recorded_late_pages_nobody_and_one_at_a_felled_tree_is_refused(
    inspector: APIClient, tree: Tree
) -> None:
    sent = body(inspected_at="2026-11-22T11:30:00+00:00", emergency=True)
    answer = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["emergency_answer"]
    assert (answer["late"], answer["age_hours"]) == (True, 72.5)
    assert Event.objects.get(kind="emergency.raised").data["late"] is True
    remove_tree(SERVICE, tree, on=make.TODAY, reason="felled", stump_ground=True)
    inspections = Inspection.objects.count()
    late = body(inspected_at="2026-11-23T11:30:00+00:00", emergency=True)
    refused = problem(inspector.post(f"{V1}/trees/{tree.uid}/inspections", late), 409, "conflict")
    assert "the emergency is over" in refused["detail"]
    assert Inspection.objects.count() == inspections


def test_a_preview_tells_the_suggestions_and_stores_nothing(inspector: APIClient, tree: Tree) -> None:
    sent = body(findings=[HANGER], targets=[PATH])
    answer = inspector.post(f"{V1}/trees/{tree.uid}/inspections/preview", sent)
    found = answer.json()
    assert answer.status_code == 200, answer.content
    assert (found["failure"]["category"], found["emergency"], found["emergency_phone"]) == ("imminent", True, "112")
    # Constant occupancy, fully exposed: high; imminent and high: very likely (ISA BMP 2017).
    assert found["pairs"][0] == {
        "part": "branch",
        "finding": 0,
        "target": 0,
        "failure": "imminent",
        "impact": "high",
        "failure_and_impact": "very_likely",
    }
    assert not Inspection.objects.exists()


def test_inspections_of_a_tree_are_paged_newest_first(inspector: APIClient, tree: Tree) -> None:
    made = [make.inspected(tree, make.record(make.TODAY - timedelta(days=age))) for age in (0, 3, 9, 27, 81)]
    url, seen = f"{V1}/trees/{tree.uid}/inspections?limit=2", []
    while url:
        page = inspector.get(url).json()
        seen += [one["uid"] for one in page["items"]]
        url = page["next"]
    assert seen == [str(one.uid) for one in made]
    problem(inspector.get(f"{V1}/trees/{tree.uid}/inspections?after=WyJ4Il0"), 400, "invalid")


def test_each_kind_in_the_catalogue_says_what_a_form_needs(inspector: APIClient) -> None:
    items = inspector.get(f"{V1}/finding-kinds").json()["items"]
    assert [one["name"] for one in items] == list(KINDS)
    cavity = next(one for one in items if one["name"] == "cavity")
    assert {"name": "opening_percent", "unit": "%", "most": 100.0}.items() <= cavity["measures"][0].items()


def test_a_defect_is_shown_across_the_years(inspector: APIClient, tree: Tree) -> None:
    first = uuid.uuid4()
    make.inspected(tree, make.record(make.TODAY - timedelta(days=400), findings=(make.finding(uid=first),)))
    make.inspected(tree, make.record(findings=(make.finding(continues=first),)))
    (defect,) = inspector.get(f"{V1}/trees/{tree.uid}/defects").json()["items"]
    assert (defect["uid"], defect["kind"], defect["last_seen"]) == (str(first), "decay", "2026-11-25")
    assert [one["continues"] for one in defect["sightings"]] == [None, str(first)]


def test_a_check_is_asked_for_seen_and_withdrawn(inspector: APIClient, tree: Tree) -> None:
    sent = {"uid": str(uuid.uuid4()), "kind": "storm", "due_on": "2026-12-01", "why": "after the storm"}
    url = f"{V1}/trees/{tree.uid}/checks"
    assert [inspector.post(url, sent).status_code for _ in range(2)] == [201, 201]
    problem(inspector.post(url, {**sent, "due_on": "2026-12-02"}), 409, "conflict")
    assert RequiredCheck.objects.count() == 1
    (listed,) = inspector.get(url).json()["items"]
    assert (listed["kind"], listed["closed_on"]) == ("storm", None)
    withdraw = f"{V1}/checks/{sent['uid']}/withdraw"
    assert pointers(problem(inspector.post(withdraw, {"why": ""}), 400, "invalid")) == {"#/why"}
    assert inspector.post(withdraw, {"why": "wrong tree"}).json()["withdrawn_why"] == "wrong tree"
    problem(inspector.post(withdraw, {"why": "again"}), 409, "conflict")


def test_the_due_list_is_narrowed_and_paged(inspector: APIClient) -> None:
    build.zone(half_m=100.0)
    trees = [build.tree(east=200 * place) for place in range(4)]
    for tree, risk in zip(trees, ("low", "high", "moderate", "high"), strict=True):
        make.inspected(tree, make.rated(risk, make.TODAY - timedelta(days=50)))
    url, seen = f"{V1}/due?limit=1", []
    while url:
        page = inspector.get(url).json()
        seen += page["items"]
        url = page["next"]
    assert [one["risk"] for one in seen] == ["high", "high", "moderate", "low"]
    assert [one["tree"] for one in inspector.get(f"{V1}/due?zone=Z1").json()["items"]] == [str(trees[0].uid)]
    act = inspector.get(f"{V1}/due?kind=act&risk=high&before=2026-11-25").json()["items"]
    assert [(one["act_by"], one["days_overdue"]) for one in act] == [("2026-11-05", 20)] * 2
    assert pointers(problem(inspector.get(f"{V1}/due?zone=Z9"), 400, "invalid")) == {"?zone"}
    assert pointers(problem(inspector.get(f"{V1}/due?kind=water&soon=1"), 400, "invalid")) == {"?kind", "?soon"}
    summary = inspector.get(f"{V1}/due/summary").json()
    assert (summary["by_risk"]["high"], summary["act_overdue"], summary["unseen"]) == (2, 2, 0)
    assert [one["tree"] for one in summary["top"]] == [one["tree"] for one in act]


def test_trees_never_rated_wait_in_a_queue_of_their_own(inspector: APIClient) -> None:
    small, large = build.tree(dbh_cm=20.0), build.tree(50, dbh_cm=80.0)
    for tree in (small, large):
        make.inspected(tree, make.record(make.TODAY - timedelta(days=9)))
    first = inspector.get(f"{V1}/due/unseen?limit=1").json()
    second = inspector.get(first["next"]).json()
    shown = first["items"] + second["items"]
    assert [one["tree"] for one in shown] == [str(large.uid), str(small.uid)]
    assert [one["risk"] for one in shown] == ["", ""]
    assert second["next"] is None


def test_a_policy_is_adopted_by_the_forester_or_refused_by_name(inspector: APIClient) -> None:
    forester, url = as_role("forester"), f"{V1}/policies"
    assert forester.get(url).json()["items"][0]["version"] == 0
    data = json.loads(methods.default_policy_text())
    data["act_by_days"]["high"] = 400
    refused = forester.post(url, {"policy": data, "why": "slower"}, headers=key())
    assert pointers(problem(refused, 400, "invalid")) == {"#/policy/act_by_days/high"}
    data["act_by_days"]["high"] = 14
    answer = forester.post(url, {"policy": data, "why": "faster"}, headers=key())
    assert (answer.status_code, answer.json()["version"]) == (201, 1)
    assert forester.get(url).json()["items"][0]["policy"]["act_by_days"]["high"] == 14
    problem(inspector.post(url, {"policy": data, "why": "x"}, headers=key()), 403, "not-allowed")


def test_a_tree_without_priority_says_so(inspector: APIClient, tree: Tree) -> None:
    assert not Priority.objects.exists()
    problem(inspector.get(f"{V1}/trees/{tree.uid}/priority"), 404, "not-found")
