"""Loads on the pages: upload, survey, check, load by jobs; the report of a load; undoing; cancelling."""

import csv
import io
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inventory import services
from inventory.history import SERVICE
from inventory.models import IntakeLoad, Tree
from tests.support import build
from tests.support.jobs import worked
from tests.support.pages import CSV, Town, streamed, text, visitor
from workers.models import Job

pytestmark = pytest.mark.django_db
# Forty rows, two of them without coordinates.
MANY = "id,species,dbh,lat,lon\n" + "".join(
    f"K{n},Tilia cordata,{20 + n % 17},{'' if n in (7, 9) else f'{45.01 + n / 9000:.6f}'},{-29.49 - n / 8000:.6f}\n"
    for n in range(40)
)


@pytest.fixture(autouse=True)
def _no_broker() -> "object":
    """Jobs are rows; the tests run them themselves."""
    with mock.patch("workers.wake.send"):
        yield


def upload(client: Client, content: bytes = CSV.encode()) -> str:
    answer = client.post("/loads", {"file": SimpleUploadedFile("trees.csv", content)})
    assert answer.status_code == 302, answer.content
    return str(answer["Location"])


def test_a_file_goes_from_upload_to_inventory_and_back() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    build.species("Tilia cordata")
    address = upload(client, MANY.encode())
    assert "Waiting for a worker" in text(client.get(address))
    assert worked(address).state == "done"
    form = client.get(address).context["form"]
    sent = {**form.initial}
    answer = client.post("/loads/check", sent)
    assert worked(answer["Location"]).state == "done"
    checked = client.get(answer["Location"])
    assert checked.context["check"]["counts"]["refused"] == 2
    # The check shows its rows, and leads back to the survey of the same file.
    assert [row.line for row in checked.context["page"].rows] == [9, 11]
    assert checked.context["survey"].uid == Job.objects.get(kind="intake_survey").uid
    assert not Tree.objects.exists()
    loaded = client.post("/loads/run", checked.context["form"].initial | {"refused": "skip"})
    assert worked(loaded["Location"]).state == "done"
    load = IntakeLoad.objects.get()
    assert client.get(loaded["Location"])["Location"] == f"/loads/{load.uid}"
    assert Tree.objects.count() == 38
    undone = client.post(f"/loads/{load.uid}/undo")
    assert worked(undone["Location"]).state == "done"
    page = client.get(undone["Location"], follow=True)
    assert page.redirect_chain == [(f"/loads/{load.uid}", 302)]
    assert "its trees are gone from the inventory" in text(page)
    assert not Tree.objects.exists()


def test_a_load_on_which_something_builds_cannot_be_undone_and_the_page_says_what(place: Town) -> None:
    tree = Tree.objects.filter(intake_load__uid=place.load).first()
    assert tree is not None
    services.edit_tree(SERVICE, tree, {"note": "seen"}, version=tree.version, why="walked by")
    client = visitor(place.people["forester"])
    asked = client.post(f"/loads/{place.load}/undo")
    assert worked(asked["Location"]).state == "failed"
    page = client.get(asked["Location"])
    assert "cannot be undone" in text(page)
    assert "trees changed since" in text(page)
    assert Tree.objects.filter(intake_load__uid=place.load).exists()


def test_the_report_counts_by_reason_and_its_rows_download_as_csv(place: Town) -> None:
    client = visitor(place.people["auditor"])
    page = client.get(f"/loads/{place.load}")
    rows = {one.name: one.rows for one in page.context["reasons"]}
    assert rows["no_coordinates"] == 1
    assert rows["species_unmatched"] == 1
    assert rows["dbh_zero"] == 1
    assert "Undo" not in text(page)  # an auditor only looks
    assert "Settle the species names" not in text(page)
    assert "Settle the species names" in text(visitor(place.people["forester"]).get(f"/loads/{place.load}"))
    narrow = client.get(f"/loads/{place.load}?reason=no_coordinates").context["page"].rows
    assert [row.line for row in narrow] == [5]
    answer = client.get(f"/loads/{place.load}/rows.csv")
    told = list(csv.DictReader(io.StringIO(streamed(answer).decode())))
    assert {row["line"] for row in told} == {"3", "4", "5", "6"}
    assert next(row for row in told if row["line"] == "6")["lon"] == "'=2+3"


def test_what_cannot_be_read_is_refused_at_the_field() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    for content, told in ((b"%PDF-1.4", "PDF"), (b"", "empty")):
        page = client.post("/loads", {"file": SimpleUploadedFile("trees.csv", content)})
        assert page.status_code == 400
        assert told in str(page.context["form"].errors)
    assert not Job.objects.exists()


def test_a_wrong_mapping_is_told_key_by_key_and_asks_for_no_job() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    sent = {"sha256": "0" * 64, "name": "trees.csv", "mapping": '[[column]]\nheading = "lat"\nrole = "latitud"\n'}
    page = client.post("/loads/check", sent)
    assert page.status_code == 400
    assert "column/0/role" in text(page)
    assert not Job.objects.exists()


def test_a_job_that_failed_says_why_and_one_may_be_stopped() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    address = upload(client)
    assert client.post(f"{address}/cancel").status_code == 302
    assert "Nothing of it stayed" in text(client.get(address))
    assert client.post(f"{address}/cancel", follow=True).status_code == 200
    mapping = '[[column]]\nheading = "lat"\nrole = "latitude"\n[[column]]\nheading = "nope"\nrole = "longitude"\n'
    sha256 = Job.objects.get().params["sha256"]
    answer = client.post("/loads/check", {"sha256": sha256, "name": "trees.csv", "mapping": mapping})
    assert worked(answer["Location"]).state == "failed"
    page = text(client.get(answer["Location"]))
    assert "the file has no column" in page
    # The survey was stopped, so there is none to go back to; once there is one, the failed check leads to it.
    assert "Correct the mapping" not in page
    build.species("Tilia cordata")
    assert worked(upload(client)).state == "done"
    page = text(client.get(answer["Location"]))
    assert f'?mapping={answer["Location"].rsplit("/", 1)[1]}">Correct the mapping' in page


def test_loads_are_for_the_forester_to_run_and_the_auditor_to_see(place: Town) -> None:
    for role, seen, run in (("forester", 200, 302), ("auditor", 200, 403), ("inspector", 403, 403)):
        client = visitor(place.people[role])
        assert client.get("/loads").status_code == seen
        sent = {"file": SimpleUploadedFile("trees.csv", CSV.encode())}
        assert client.post("/loads", sent).status_code == run
    job = Job.objects.get()
    assert visitor(place.people["inspector"]).get(f"/jobs/{job.uid}").status_code == 404
    assert visitor().get(f"/jobs/{job.uid}").status_code == 403
