"""The page of a merge: what differs, decided kind by kind and row by row, written and undone; nothing unasked."""

import csv
import io
import uuid
from datetime import date
from typing import Any
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory import services
from inventory.history import Author
from inventory.intake import mapping as mappings
from inventory.models import IntakeMerge, Tree
from inventory.services import Size
from tests.support.jobs import worked
from tests.support.pages import MAPPING, Town, streamed, text, today, visitor
from workers.models import Job

pytestmark = pytest.mark.django_db
# The town's file a year later: A1 is thicker, A2 is not in it, A3 too is thicker, A9 is new, A4 has no place.
LATER = (
    "id,species,dbh,lat,lon\n"
    "A1,Tilia cordata,40,45.0100,-29.4900\n"
    "A3,Unheard of,25,45.0102,-29.4902\n"
    "A9,Tilia cordata,12,45.0109,-29.4909\n"
    "A4,Tilia cordata,20,,\n"
)


@pytest.fixture(autouse=True)
def _no_broker() -> "object":
    """Jobs are rows; the tests run them themselves."""
    with mock.patch("workers.wake.send"):
        yield


@pytest.fixture
def client(place: Town) -> Client:
    return visitor(place.people["forester"])


def uploaded(client: Client, content: str) -> dict[str, str]:
    """What the form of a check sends of a file."""
    worked(client.post("/loads", {"file": SimpleUploadedFile("later.csv", content.encode())})["Location"])
    sha256 = Job.objects.order_by("-pk")[0].params["sha256"]
    return {"sha256": sha256, "name": "later.csv", "mapping": mappings.write(mappings.from_dict(MAPPING))}


def compared(client: Client, content: str = LATER) -> str:
    """Compare a file with the inventory; return the address of what was found."""
    answer = client.post("/loads/compare", uploaded(client, content))
    return followed(client, answer["Location"])


def followed(client: Client, job: str) -> str:
    done = worked(job)
    assert done.state == "done", done.problem
    return str(client.get(job)["Location"])


def stem(key: str) -> float | None:
    return Tree.objects.get(external_key=key).dbh_cm


def measured(place: Town, key: str, dbh_cm: float, on: date) -> None:
    tree = Tree.objects.get(external_key=key)
    size = Size(uid=uuid.uuid4(), measured_on=on, method="tape", dbh_cm=dbh_cm)
    services.measure(Author(place.people["inspector"].pk, "phone"), tree, size)


def row(page: Any, line: int) -> Any:
    return next(one for one in page.context["page"].rows if one.line == line)


def test_a_comparison_writes_nothing_and_shows_what_differs(client: Client) -> None:
    before = list(Tree.objects.order_by("pk").values())
    page = client.get(compared(client))
    assert list(Tree.objects.order_by("pk").values()) == before
    kinds = {kind: rows for kind, _, _, rows in page.context["kinds"]}
    assert kinds == {"changed": 2, "appeared": 1, "vanished": 1, "refused": 1, "only_ours": 5}
    (change,) = row(page, 2).changes
    assert (change.field, change.ours, change.file, change.taken) == (
        "Stem diameter", "35\u00a0cm", "40\u00a0cm", True,
    )  # fmt: skip
    told = text(page)
    assert "Nothing is written yet" in told
    assert 'aria-label="Plan of what differs. new in the file: 1, not in the file any more: 1"' in told
    assert "the row has no coordinates" in told


def test_a_merge_as_it_stands_takes_what_nobody_touched_and_is_undone_again(client: Client) -> None:
    before = list(Tree.objects.order_by("pk").values("external_key", "dbh_cm", "state"))
    address = compared(client)
    merged = followed(client, client.post(f"{address}/choices", {"do": "merge"})["Location"])
    assert (stem("A1"), stem("A3"), Tree.objects.filter(external_key="A9").count()) == (40.0, 25.0, 1)
    # Vanished trees are only listed.
    assert Tree.objects.get(external_key="A2").state == "alive"
    page = client.get(merged)
    assert page.context["merge"].state == "merged"
    load = page.context["merge"].load
    assert f'action="/loads/{load.uid}/undo"' in text(page)
    assert f'href="{merged}"' in text(client.get(f"/loads/{load.uid}"))
    assert followed(client, client.post(f"/loads/{load.uid}/undo")["Location"]) == f"/loads/{load.uid}"
    assert list(Tree.objects.order_by("pk").values("external_key", "dbh_cm", "state")) == before
    assert "everything is back as it was" in text(client.get(merged))


def test_what_a_person_measured_since_is_kept_unless_asked_for(client: Client, place: Town) -> None:
    for key, dbh_cm in (("A3", 31.0), ("A1", 33.0)):
        measured(place, key, dbh_cm, today())
    address = compared(client)
    page = client.get(f"{address}?standing=conflict")
    assert {one.line for one in page.context["page"].rows} == {2, 3}
    assert {change.taken for one in page.context["page"].rows for change in one.changes} == {False}
    assert "a person wrote or measured ours" in text(page)
    # One of the two is asked for by itself; the choice is kept while one goes on.
    kept = client.post(f"{address}/choices", {"do": "remember", "line-2": "file", "back": "standing=conflict&x=1"})
    assert kept["Location"] == f"{address}?standing=conflict#rows"
    page = client.get(kept["Location"])
    assert (row(page, 2).chosen, row(page, 3).chosen) == ("file", "")
    # A single choice can be taken back; the others stay.
    client.post(f"{address}/choices", {"do": "remember", "line-3": "file"})
    client.post(f"{address}/choices", {"do": "remember", "line-3": ""})
    assert IntakeMerge.objects.get().choices["lines"] == {"2": "file"}
    again = followed(client, client.post(f"{address}/choices", {"do": "again"})["Location"])
    page = client.get(again)
    assert (row(page, 2).taken, row(page, 3).taken) == (True, False)
    followed(client, client.post(f"{again}/choices", {"do": "merge"})["Location"])
    assert (stem("A1"), stem("A3")) == (40.0, 31.0)


def test_a_kind_is_decided_for_all_its_rows_and_one_of_them_by_itself(client: Client) -> None:
    address = compared(client)
    page = client.get(address)
    chosen = {one.name: one.chosen for one in page.context["aspects"]}
    assert chosen == {"changed": "file", "appeared": "file", "vanished": "ours"}
    gone = next(one for one in page.context["page"].rows if one.kind == "vanished")
    sent = {"do": "merge", "kind-changed": "ours", "kind-vanished": "file", "line-3": "file"}
    followed(client, client.post(f"{address}/choices", sent)["Location"])
    assert (stem("A1"), stem("A3")) == (35.0, 25.0)
    assert Tree.objects.get(uid=gone.tree).state == "removed"


def test_rows_are_filtered_and_downloaded(client: Client) -> None:
    address = compared(client)
    assert [one.line for one in client.get(f"{address}?kind=appeared").context["page"].rows] == [4]
    assert [one.line for one in client.get(f"{address}?field=dbh").context["page"].rows] == [2, 3]
    assert len(client.get(f"{address}?kind=x&standing=y&field=%00").context["page"].rows) == 10
    told = list(csv.DictReader(io.StringIO(streamed(client.get(f"{address}/rows.csv?kind=changed")).decode())))
    assert [(one["line"], one["differences"]) for one in told] == [("2", "dbh: 35 -> 40"), ("3", "dbh: 20 -> 25")]


def test_a_file_of_another_city_is_refused_and_compared_only_when_asked_again(client: Client) -> None:
    far = "id,species,dbh,lat,lon\n" + "".join(
        f"Z{n},Quercus robur,{20 + n},{45.2 + n / 999:.6f},-29.300{n}\n" for n in range(9)
    )
    answer = client.post("/loads/compare", uploaded(client, far))
    assert worked(answer["Location"]).state == "failed"
    page = client.get(answer["Location"])
    assert "no later file of this city" in text(page)
    again = client.post(f"{answer['Location']}/anyway")
    page = client.get(followed(client, again["Location"]))
    assert {kind: rows for kind, _, _, rows in page.context["kinds"]}["appeared"] == 9


def test_choices_that_no_form_sends_are_refused_and_a_written_merge_takes_none(client: Client) -> None:
    address = compared(client)
    for wrong in ({"kind-nonsense": "file"}, {"kind-moved": "both"}, {"line-x": "file"}, {"tree-1": "ours"}):
        assert 'role="status"' in text(client.post(f"{address}/choices", wrong, follow=True))
        assert IntakeMerge.objects.get().choices["lines"] == {}
    merged = followed(client, client.post(f"{address}/choices", {"do": "merge"})["Location"])
    jobs = Job.objects.count()
    page = client.post(f"{merged}/choices", {"do": "merge"}, follow=True)
    assert "written already" in text(page)
    assert Job.objects.count() == jobs
    assert client.post(f"/loads/merges/{uuid.uuid4()}/choices").status_code == 404


def test_the_auditor_looks_and_decides_nothing(client: Client, place: Town) -> None:
    address = compared(client)
    auditor = visitor(place.people["auditor"])
    page = auditor.get(address)
    assert page.status_code == 200
    assert "Merge as decided" not in text(page)
    assert auditor.post(f"{address}/choices", {"do": "merge"}).status_code == 403
    assert auditor.post("/loads/compare", {}).status_code == 403
    assert visitor(place.people["inspector"]).get(address).status_code == 403


def test_the_number_of_queries_does_not_grow_with_the_rows(client: Client) -> None:
    def queries(content: str) -> int:
        address = compared(client, content)
        with CaptureQueriesContext(connection) as found:
            client.get(address)
        return len(found)

    many = LATER + "".join(f"N{n},Tilia cordata,{n + 9},45.02{n:02},-29.49{n:02}\n" for n in range(30))
    assert queries(LATER) == queries(many)
