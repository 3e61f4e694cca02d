"""Options over HTTP: proposed, edited under If-Match, added once, read side by side with what dominates what."""

import uuid
from typing import Any

import pytest
from rest_framework.test import APIClient

from assessments.methods.options import KINDS
from assessments.models import Inspection
from tests.support import build
from tests.support import inspections as looks
from tests.support.http import V1, as_role, pointers, problem
from tests.support.inspections import TODAY
from tests.support.query_counts import check, counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.calendar.today", lambda: TODAY)


def inspected() -> Inspection:
    cavity = looks.finding("cavity", height_m=1.0, measures={"opening_percent": 25.0})
    rating = looks.rating("high", finding=0)
    record = looks.record(findings=(cavity,), targets=(looks.target(),), ratings=(rating,), frame_years=3)
    return looks.inspected(build.tree(dbh_cm=80.0), record)


def propose(inspector: APIClient, inspection: Inspection, **body: Any) -> dict[str, Any]:
    answer = inspector.post(f"{V1}/inspections/{inspection.uid}/options/proposals", body)
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def test_the_kinds_of_option_are_listed_with_their_cautions() -> None:
    items = as_role("contractor").get(f"{V1}/option-kinds").json()["items"]
    assert [one["kind"] for one in items] == list(KINDS)
    assert all(one["cautions"] for one in items)


def test_options_are_proposed_and_read_side_by_side() -> None:
    inspection, inspector = inspected(), as_role("inspector")
    found = propose(inspector, inspection)
    assert {one["option"] for one in found["comparison"]["result"]["options"]} == {one["uid"] for one in found["items"]}
    assert as_role("auditor").get(f"{V1}/inspections/{inspection.uid}/options").json() == found
    assert propose(inspector, inspection) == found


def test_an_option_is_edited_under_the_tag_that_was_read() -> None:
    inspector = as_role("inspector")
    uid = propose(inspector, inspected())["items"][0]["uid"]
    tag = inspector.get(f"{V1}/options/{uid}")["ETag"]
    change = {"own_cost": 1234.5, "own_why": "needs a night shift"}
    problem(inspector.patch(f"{V1}/options/{uid}", change), 428, "precondition-required")
    edited = inspector.patch(f"{V1}/options/{uid}", change, headers={"If-Match": tag})
    assert edited.status_code == 200, edited.content
    assert edited.json()["own_cost"] == 1234.5
    assert edited.json()["estimates"][0]["result"]["method_said"]["cost_now"] != 1234.5
    problem(inspector.patch(f"{V1}/options/{uid}", change, headers={"If-Match": tag}), 412, "stale")
    bare = {"own_cost": 5, "own_why": ""}
    refused = inspector.patch(f"{V1}/options/{uid}", bare, headers={"If-Match": edited["ETag"]})
    assert pointers(problem(refused, 400, "invalid")) == {"#/own_why"}


def test_an_option_is_added_once() -> None:
    inspection, inspector = inspected(), as_role("inspector")
    sent = {"uid": str(uuid.uuid4()), "kind": "reduce_crown", "parameters": {"percent": 18}}
    url = f"{V1}/inspections/{inspection.uid}/options"
    first, again = (inspector.post(url, sent) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json() == inspector.get(first["Location"]).json()
    problem(inspector.post(url, sent | {"note": "other"}), 409, "conflict")
    wrong = sent | {"uid": str(uuid.uuid4()), "parameters": {"percent": 99}}
    assert pointers(problem(inspector.post(url, wrong), 400, "invalid")) == {"#/parameters/percent"}


def test_a_decision_for_a_proposed_option_takes_over_the_checks_it_commits_to() -> None:
    inspection, inspector = inspected(), as_role("inspector")
    kept = next(one for one in propose(inspector, inspection)["items"] if one["kind"] == "retain_and_monitor")
    sent = {
        "uid": str(uuid.uuid4()),
        "option": kept["uid"],
        "decided_on": TODAY.isoformat(),
        "decided_by": "Maren Holt",
        "office": "head of parks",
        "why": "the lime is to be kept",
        "accepted_risk": "the stem may break in a storm",
        "ends_on": "2027-05-01",
    }
    made = as_role("forester").post(f"{V1}/trees/{inspection.tree.uid}/decisions", sent)
    assert made.status_code == 201, made.content
    said = kept["estimates"][0]["result"]["checks"]
    assert {(one["kind"], one["due_on"]) for one in made.json()["checks"]} == {
        *((one["kind"], one["due_on"]) for one in said),
        ("decision_end", "2027-05-01"),
    }


def test_reading_options_makes_no_query_a_row() -> None:
    inspection, inspector = inspected(), as_role("inspector")
    url = f"{V1}/inspections/{inspection.uid}/options"
    propose(inspector, inspection)
    inspector.get(url)
    few = counted(lambda: inspector.get(url))
    for percent in (12, 14, 16):
        sent = {"uid": str(uuid.uuid4()), "kind": "reduce_crown", "parameters": {"percent": percent}}
        assert inspector.post(url, sent).status_code == 201
    assert counted(lambda: inspector.get(url)) == few
    check("GET inspections/{inspection}/options inspector", few)
