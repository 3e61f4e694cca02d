"""Photos and written reports on the pages of a tree: added, shown to whom they may be, issued, refused at the field."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from assessments.models import TreeReport
from inventory.models import Attachment
from tests.support.pages import Town, text, today, visitor
from tests.support.reports import picture

pytestmark = pytest.mark.django_db


def form(place: Town, content: bytes | None = None, **fields: Any) -> dict[str, Any]:
    file = SimpleUploadedFile("a.jpg", picture() if content is None else content, "image/jpeg")
    return {"uid": str(uuid.uuid4()), "file": file, "subject": f"tree:{place.trees['H1'].uid}"} | fields


def test_a_photo_of_a_finding_is_added_and_shown_to_the_municipality_only(place: Town) -> None:
    tree, client = place.trees["H1"], visitor(place.people["inspector"])
    page = text(client.get(f"/trees/{tree.uid}/photos/new"))
    assert "Decay at the stem" in page
    finding = tree.inspections.order_by("-inspected_at")[0].findings.get()
    sent = form(place, subject=f"finding:{finding.uid}", caption="South side <b>")
    assert client.post(f"/trees/{tree.uid}/photos/new", sent).status_code == 302
    assert Attachment.objects.get().about_uid == finding.uid
    assert "South side &lt;b&gt;" in client.get(f"/trees/{tree.uid}").content.decode()
    assert "South side" not in visitor().get(f"/trees/{tree.uid}").content.decode()


def test_a_form_sent_twice_adds_one_photo(place: Town) -> None:
    tree, client, uid = place.trees["H1"], visitor(place.people["inspector"]), str(uuid.uuid4())
    for _ in range(2):
        assert client.post(f"/trees/{tree.uid}/photos/new", form(place, uid=uid)).status_code == 302
    assert Attachment.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "fields", "said"),
    [
        (b"no picture", {}, "is no JPEG, PNG or WebP picture"),
        (None, {"subject": f"finding:{uuid.UUID(int=7)}"}, "Select a valid choice"),
    ],
)
def test_what_is_wrong_with_a_photo_is_said_at_its_field(
    place: Town, content: bytes | None, fields: dict[str, Any], said: str
) -> None:
    client = visitor(place.people["inspector"])
    answer = client.post(f"/trees/{place.trees['H1'].uid}/photos/new", form(place, content, **fields))
    assert answer.status_code == 400
    assert said in text(answer)
    assert not Attachment.objects.exists()


def test_a_forester_withdraws_a_photo_with_a_reason(place: Town) -> None:
    tree, client = place.trees["H1"], visitor(place.people["forester"])
    client.post(f"/trees/{tree.uid}/photos/new", form(place, caption="A face"))
    photo = Attachment.objects.get()
    client.post(f"/photos/{photo.uid}/withdraw", {"why": ""})
    assert "A face" in text(client.get(f"/trees/{tree.uid}"))
    client.post(f"/photos/{photo.uid}/withdraw", {"why": "shows a face"})
    assert "No photo yet." in text(client.get(f"/trees/{tree.uid}"))
    assert visitor(place.people["inspector"]).post(f"/photos/{photo.uid}/withdraw", {"why": "x"}).status_code == 403


def report(**fields: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "recommendation": "Keep it, and look again.",
        "assumptions": "The kerb was not opened.\n\n",
        "valid_until": str(today() + timedelta(365)),
        "paper": "letter",
        "units": "us",
    } | fields


def test_a_report_is_issued_from_the_page_and_stands_on_it(place: Town) -> None:
    tree, client = place.trees["H1"], visitor(place.people["inspector"])
    inspection = tree.inspections.order_by("-inspected_at")[0]
    assert f"/inspections/{inspection.uid}/report" in client.get(f"/trees/{tree.uid}").content.decode()
    assert "Draft as PDF, Letter" in text(client.get(f"/inspections/{inspection.uid}/report"))
    assert client.post(f"/inspections/{inspection.uid}/report", report()).status_code == 302
    made = TreeReport.objects.get()
    assert (made.paper, made.units, made.content["assumptions"]) == ("letter", "us", ["The kerb was not opened."])
    assert f"{made.number}, edition 1" in text(client.get(f"/trees/{tree.uid}"))


def test_what_is_wrong_with_a_report_is_said_at_its_field(place: Town) -> None:
    client = visitor(place.people["inspector"])
    inspection = place.trees["H1"].inspections.order_by("-inspected_at")[0]
    answer = client.post(f"/inspections/{inspection.uid}/report", report(valid_until="2001-01-01"))
    assert answer.status_code == 400
    assert "must not lie in the past" in text(answer)
    assert not TreeReport.objects.exists()


def test_an_auditor_reads_reports_and_issues_none(place: Town) -> None:
    inspection = place.trees["H1"].inspections.order_by("-inspected_at")[0]
    assert visitor(place.people["auditor"]).get(f"/inspections/{inspection.uid}/report").status_code == 403
    assert "Written reports" in text(visitor(place.people["auditor"]).get(f"/trees/{place.trees['H1'].uid}"))
