"""Written reports by REST: drafted, issued once, read as HTML and PDF for ever."""

import uuid
from typing import Any

import pytest

from assessments.models import Inspection, TreeReport
from tests.support import build, inspections, reports
from tests.support.http import V1, as_role, pointers, problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspection(city: object) -> Inspection:
    """One without sections: these tests look at the interface, not at the document."""
    record = inspections.rated("high", findings=(inspections.finding(),))
    return inspections.inspected(build.tree(tag="H-0042"), record)


def body(**changes: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "valid_until": "2027-11-25",
        "recommendation": "Fell the tree and plant another.",
        "assumptions": ["The kerb was not opened."],
    } | changes


def test_a_report_is_issued_once_and_read_for_ever(inspection: Inspection) -> None:
    client, sent = as_role("inspector"), body()
    first = client.post(f"{V1}/inspections/{inspection.uid}/reports", sent)
    again = client.post(f"{V1}/inspections/{inspection.uid}/reports", sent)
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json()
    report = first.json()
    paper = client.get(report["pdf"])
    assert paper["Content-Type"] == "application/pdf"
    assert paper.content[:5] == b"%PDF-"
    words = reports.words_of(paper.content)
    assert "Fell the tree and plant another." in words
    assert "The kerb was not opened." in words
    full = client.get(first["Location"]).json()
    assert full["content"]["recommendation"] == sent["recommendation"]
    listed = client.get(f"{V1}/trees/{inspection.tree.uid}/reports").json()["items"]
    assert [one["number"] for one in listed] == [report["number"]]


def test_the_same_uid_with_another_recommendation_is_a_conflict(inspection: Inspection) -> None:
    client, sent = as_role("inspector"), body()
    address = f"{V1}/inspections/{inspection.uid}/reports"
    client.post(address, sent)
    problem(client.post(address, sent | {"recommendation": "Keep it."}), 409, "conflict")
    assert TreeReport.objects.count() == 1


def test_html_lets_its_own_style_through_and_no_script(inspection: Inspection) -> None:
    client = as_role("inspector")
    report = client.post(f"{V1}/inspections/{inspection.uid}/reports", body()).json()
    shown = client.get(report["html"])
    assert "script-src 'none'" in shown["Content-Security-Policy"]
    assert "style-src 'sha256-" in shown["Content-Security-Policy"]
    assert "Fell the tree" in shown.content.decode()


def test_a_draft_says_that_it_is_one_and_stores_nothing(inspection: Inspection) -> None:
    client = as_role("inspector")
    shown = client.get(f"{V1}/inspections/{inspection.uid}/draft-report.html?units=us&paper=letter")
    assert "Draft: not issued" in shown.content.decode()
    paper = client.get(f"{V1}/inspections/{inspection.uid}/draft-report.pdf")
    assert "Draft: not issued" in reports.words_of(paper.content)
    assert not TreeReport.objects.exists()


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"valid_until": "2020-01-01"}, {"#/valid_until"}),
        ({"recommendation": ""}, {"#/recommendation"}),
        ({"paper": "foolscap"}, {"#/paper"}),
        ({"assumptions": "none"}, {"#/assumptions"}),
        ({"uid": "x"}, {"#/uid"}),
        ({"signed": True}, {"#/signed"}),
    ],
)
def test_a_wrong_field_is_named(inspection: Inspection, changes: dict[str, Any], wrong: set[str]) -> None:
    answer = problem(
        as_role("inspector").post(f"{V1}/inspections/{inspection.uid}/reports", body(**changes)), 400, "invalid"
    )
    assert pointers(answer) == wrong
