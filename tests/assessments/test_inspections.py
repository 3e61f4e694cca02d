"""Inspections: recorded once, checked for sense, rated by the methods, with what follows from them."""

import uuid
from dataclasses import asdict, replace
from datetime import date, timedelta
from typing import Any

import pytest

from assessments import records, services
from assessments.methods import findings, risk
from assessments.methods.catalogue import KINDS
from assessments.models import Finding, Inspection, Priority, Rating, RequiredCheck, Target
from assessments.queries import defect_history
from assessments.records import FindingRecord, InspectionRecord
from inventory.history import SERVICE, Author
from inventory.models import Event, Municipality, Tree
from inventory.problems import Conflict, Invalid, Refusal
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)


def everything() -> list[int]:
    """How many rows of each kind there are."""
    models: list[Any] = [Inspection, Finding, Target, Rating, RequiredCheck, Event, Priority]
    return [model.objects.count() for model in models]


def refused(tree: Tree, record: InspectionRecord, *pointers: str, kind: type[Refusal] = Invalid) -> Refusal:
    """The refusal of a record: it names these fields, and nothing was written."""
    before = everything()
    with pytest.raises(kind) as caught:
        services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)
    return caught.value


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_finding_is_recorded_as_it_was_seen(kind: str) -> None:
    tree = build.tree(dbh_cm=90)
    seen = findings.example(kind)
    if kind == "poor_taper":
        seen = replace(seen, measures={**seen.measures, "slenderness": 12 * 100 / 90})
    finding = FindingRecord(**asdict(seen))
    inspection = make.inspected(tree, make.record(findings=(finding,)))
    stored = Finding.objects.get(inspection=inspection)
    assert (stored.kind, stored.part, stored.measures) == (kind, seen.part, dict(seen.measures))
    assert (stored.height_m, stored.azimuth_deg) == (seen.height_m, seen.azimuth_deg)
    assert services.preview(tree, make.record(findings=(finding,)), make.TODAY).failure.by_finding[0].reasons


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_with_an_impossible_measure_is_refused(kind: str) -> None:
    seen = findings.example(kind)
    finding = FindingRecord(**{**asdict(seen), "measures": {**seen.measures, "weight_of_moon": 1.0}})
    problem = refused(build.tree(dbh_cm=90), make.record(findings=(finding,)), "#/findings/0/measures/weight_of_moon")
    assert "is not a measure" in problem.detail


def test_an_impossible_finding_is_refused_by_name() -> None:
    wrong = make.finding("cavity", measures={"opening_percent": 140.0})
    refused(build.tree(), make.record(findings=(make.finding(), wrong)), "#/findings/1/measures/opening_percent")


def test_all_that_is_wrong_is_named_at_once() -> None:
    record = replace(make.rated("low"), frame_years=None, level="thorough", dieback_percent=120.0)
    refused(build.tree(), record, "#/level", "#/dieback_percent", "#/frame_years")


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("#/inspected_at", {"inspected_at": make.noon(make.TODAY + DAY)}),
        ("#/frame_years", {"frame_years": 6}),
        ("#/frame_years", {"ratings": ()}),
        ("#/ratings/0/target", {"ratings": (make.rating(target=1),)}),
        ("#/ratings/0/finding", {"ratings": (make.rating(finding=0),)}),
        ("#/ratings/0/part", {"ratings": (make.rating(part="roof"),)}),
        ("#/ratings/0/why_different", {"ratings": (make.rating("high", why_different=" "),)}),
        ("#/ratings/1", {"ratings": (make.rating(), make.rating("high"))}),
        ("#/targets/0/occupancy", {"targets": (make.target("building", occupancy="rare"),)}),
        ("#/targets/0/exposure", {"targets": (make.target(exposure="wide"),)}),
        ("#/targets/0/label", {"targets": (make.target(label=" "),)}),
        ("#/checks/0/due_on", {"checks": (records.AskedCheck("reinspect", make.TODAY - DAY, "look again"),)}),
        ("#/checks/0/why", {"checks": (records.AskedCheck("reinspect", make.TODAY + DAY, ""),)}),
        ("#/checks/0/kind", {"checks": (records.AskedCheck("peek", make.TODAY + DAY, "look again"),)}),
        ("#/actions", {"actions": records.ActionRecord(done_on_spot="closed the path")}),
        ("#/findings/0/continues", {"findings": (make.finding(continues=uuid.uuid4()),)}),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_changed(pointer: str, changes: dict[str, Any]) -> None:
    refused(build.tree(), replace(make.rated("low"), **changes), pointer)


def test_an_instant_without_offset_is_refused() -> None:
    record = make.record(inspected_at=make.NOW.replace(tzinfo=None))
    refused(build.tree(), record, "#/inspected_at")


def test_the_same_uid_and_content_is_the_same_inspection_for_ever() -> None:
    tree, record = build.tree(), make.rated("moderate", findings=(make.finding(),))
    first, created = services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)
    before = everything()
    again, created_again = services.record_inspection(SERVICE, tree, record, make.TODAY + 400 * DAY, now=make.NOW)
    assert (created, created_again, again.pk) == (True, False, first.pk)
    assert everything() == before


def test_the_same_uid_with_other_content_is_refused() -> None:
    tree, record = build.tree(), make.rated("moderate")
    make.inspected(tree, record)
    refused(tree, replace(record, note="something else"), kind=Conflict)
    refused(build.tree(50), record, kind=Conflict)


def test_a_part_whose_uid_is_taken_is_refused() -> None:
    taken = uuid.uuid4()
    make.inspected(build.tree(), make.record(findings=(make.finding(uid=taken),)))
    refused(build.tree(50), make.record(findings=(make.finding(uid=taken),)), kind=Conflict)


def test_many_at_once_are_stored_all_or_none() -> None:
    one, other = build.tree(), build.tree(50)
    before = everything()
    entries = [(one, make.rated("high")), (other, make.record(level="thorough"))]
    with pytest.raises(Invalid):
        services.record_inspections(SERVICE, entries, make.TODAY, now=make.NOW)
    assert everything() == before
    entries = [(one, make.rated("high")), (other, make.rated("low"))]
    recorded = services.record_inspections(SERVICE, [*entries, entries[0]], make.TODAY, now=make.NOW)
    assert [one.created for one in recorded] == [True, True, True]
    assert Inspection.objects.count() == 2
    assert list(Priority.objects.order_by("tree").values_list("risk", flat=True)) == [3, 1]
    assert Event.objects.filter(kind__startswith="inspection").count() == 1


def test_the_number_of_statements_does_not_grow_with_the_inspections(django_assert_max_num_queries: Any) -> None:
    trees = [build.tree(east=50 * place) for place in range(8)]
    with django_assert_max_num_queries(45):
        services.record_inspections(
            SERVICE,
            [(tree, make.rated("high", findings=(make.finding(),))) for tree in trees],
            make.TODAY,
            now=make.NOW,
        )


def test_a_rating_keeps_what_was_suggested_and_why() -> None:
    tree = build.tree(dbh_cm=90)
    hanger = make.finding("broken_branch", "branch", measures={"state": "hanging", "diameter_cm": 12.0})
    rating = make.rating("high", part="branch", finding=0)
    make.inspected(tree, make.record(findings=(hanger,), targets=(make.target(),), ratings=(rating,), frame_years=1))
    stored = Rating.objects.get()
    # A hanging branch: failure has begun (USDA NA-TP-03-03); frequent, fully exposed: medium (ISA BMP 2017).
    assert (stored.failure_suggested, stored.impact_suggested) == ("imminent", "medium")
    assert (stored.failure, stored.impact, stored.risk) == ("probable", "high", "high")
    assert stored.suggestion["failure_basis"] == "findings"
    assert "USDA" in stored.suggestion["failure_reasons"][0]["source"]
    assert "likelihood_from_findings" in stored.method_version


@pytest.mark.parametrize("failure", risk.FAILURE)
@pytest.mark.parametrize("consequences", risk.CONSEQUENCES)
def test_the_stored_risk_is_that_of_the_published_matrices(failure: str, consequences: str) -> None:
    rating = make.rating(failure=failure, impact="medium", consequences=consequences)
    record = make.record(targets=(make.target(),), ratings=(rating,), frame_years=2)
    make.inspected(build.tree(), record)
    # ISA BMP Tree Risk Assessment 2017, both matrices, the column "medium".
    likelihood = dict(zip(risk.FAILURE, ("unlikely", "unlikely", "somewhat_likely", "likely"), strict=True))[failure]
    row = {
        "unlikely": ("low", "low", "low", "low"),
        "somewhat_likely": ("low", "low", "moderate", "moderate"),
        "likely": ("low", "moderate", "high", "high"),
    }[likelihood]
    stored = Rating.objects.get()
    assert (stored.failure_and_impact, stored.risk) == (likelihood, row[risk.CONSEQUENCES.index(consequences)])


def test_a_tree_removed_before_the_inspection_is_refused_and_a_late_one_is_taken() -> None:
    tree = build.tree()
    gone = remove_tree(SERVICE, tree, on=date(2026, 11, 20), reason="felled", stump_ground=True)
    refused(gone, make.record(date(2026, 11, 21)), kind=Conflict)
    make.inspected(gone, make.rated("high", date(2026, 11, 19)))
    assert not Priority.objects.exists()


def test_what_counts_is_when_it_was_seen_not_when_it_arrived() -> None:
    tree = build.tree()
    make.inspected(tree, make.rated("low", date(2026, 11, 20)))
    make.inspected(tree, make.rated("high", date(2026, 5, 1)))
    row = Priority.objects.get(tree=tree)
    assert (row.risk, row.last_seen) == (risk.LOW, date(2026, 11, 20))


def test_a_look_without_a_rating_leaves_the_rating_and_counts_as_seen() -> None:
    tree = build.tree()
    make.inspected(tree, make.rated("high", date(2026, 5, 1)))
    make.inspected(tree, make.record(date(2026, 11, 20), level="limited_visual"))
    row = Priority.objects.get(tree=tree)
    assert (row.risk, row.last_seen) == (risk.HIGH, date(2026, 11, 20))


def test_a_defect_is_followed_across_the_years() -> None:
    tree, first, second, third = build.tree(), uuid.uuid4(), uuid.uuid4(), uuid.uuid4()
    for uid, year, earlier in ((first, 2023, None), (second, 2024, first), (third, 2026, second)):
        seen = make.finding("cavity", uid=uid, continues=earlier, measures={"opening_percent": float(year - 2015)})
        make.inspected(tree, make.record(date(year, 6, 1), findings=(seen,)))
    make.inspected(
        tree,
        make.record(date(2025, 6, 1), findings=(make.finding("canker", measures={"circumference_percent": 10.0}),)),
    )
    cavity, canker = defect_history(tree)
    assert [finding.uid for finding in cavity.sightings] == [first, second, third]
    assert [finding.measures["opening_percent"] for finding in cavity.sightings] == [8, 9, 11]
    assert (cavity.uid, canker.newest.kind, len(canker.sightings)) == (first, "canker", 1)


def test_only_an_earlier_finding_of_the_same_tree_can_be_continued_and_once() -> None:
    tree, uid = build.tree(), uuid.uuid4()
    make.inspected(tree, make.record(date(2026, 6, 1), findings=(make.finding(uid=uid),)))
    again = make.finding(continues=uid)
    refused(build.tree(50), make.record(findings=(again,)), "#/findings/0/continues")
    refused(tree, make.record(date(2026, 5, 1), findings=(again,)), "#/findings/0/continues")
    refused(tree, make.record(findings=(again, again)), "#/findings/1/continues")


def test_an_inspection_is_attributed_and_tells_of_itself() -> None:
    person, tree = build.user("inspector"), build.tree()
    inspection = make.inspected(tree, make.rated("moderate"), author=Author(person.pk, "request-7"))
    event = Event.objects.get(kind="inspection.recorded")
    assert (event.actor_id, event.request, event.tree_id) == (person.pk, "request-7", tree.pk)
    assert (event.subject_uid, event.data["risk"], event.data["level"]) == (inspection.uid, "moderate", "basic")
    assert inspection.inspector_id == person.pk


def test_a_preview_suggests_and_stores_nothing(city: Municipality) -> None:
    tree = build.tree(dbh_cm=90)
    hanger = make.finding("broken_branch", "branch", measures={"state": "hanging", "diameter_cm": 12.0})
    before = everything()
    found = services.preview(tree, make.record(findings=(hanger,), targets=(make.target(),)), make.TODAY)
    assert everything() == before
    assert (found.failure.category, found.impacts[0].word, found.emergency) == ("imminent", "medium", True)
    assert (found.pairs[0].part, found.pairs[0].failure_and_impact) == ("branch", "likely")
