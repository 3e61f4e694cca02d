"""The page of a check: verdicts by reason and row by row before anything is loaded, their download, what is next."""

import csv
import io
from typing import Any
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.intake import mapping as mappings
from inventory.models import IntakeCheck, Tree
from tests.support import build
from tests.support.jobs import worked
from tests.support.pages import CSV, MAPPING, Town, streamed, text, visitor
from workers.models import Job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _no_broker() -> "object":
    """Jobs are rows; the tests run them themselves."""
    with mock.patch("workers.wake.send"):
        yield


@pytest.fixture
def client(db: None) -> Client:
    build.municipality()
    build.species("Tilia cordata")
    return visitor(build.user("forester"))


def checked(client: Client, content: str = CSV) -> str:
    """Upload a file and have it checked under the mapping of the town."""
    survey = client.post("/loads", {"file": SimpleUploadedFile("trees.csv", content.encode())})["Location"]
    worked(survey)
    sha256 = Job.objects.order_by("-pk")[0].params["sha256"]
    toml = mappings.write(mappings.from_dict(MAPPING))
    answer = client.post("/loads/check", {"sha256": sha256, "name": "trees.csv", "mapping": toml})
    assert worked(answer["Location"]).state == "done"
    return str(answer["Location"])


def lines(page: Any) -> list[int]:
    return [row.line for row in page.context["page"].rows]


def test_the_rows_of_a_check_are_shown_before_anything_is_loaded(client: Client) -> None:
    page = client.get(checked(client))
    assert not Tree.objects.exists()
    # CSV holds one stem of zero, one unheard of name, one row without place and one that is no place.
    assert lines(page) == [3, 4, 5, 6]
    reasons = {one.name: (one.rows, one.follows) for one in page.context["reasons"]}
    assert reasons["dbh_zero"] == (1, "Taken over; the value becomes unknown.")
    assert reasons["no_coordinates"] == (1, "The row is left out and kept here with its cells.")
    assert reasons["species_unmatched"][1] == "Taken over as the file has it; a person should look."


def test_a_row_shows_the_cells_it_is_about_first_and_what_was_repaired_from_what_to_what(client: Client) -> None:
    page = client.get(f"{checked(client)}?reason=dbh_zero")
    (row,) = page.context["page"].rows
    assert ("dbh", "0") in row.about
    assert ("lat", "45.0101") in row.others
    assert {*row.about, *row.others} == {
        ("id", "A2"), ("species", "Tilia cordata"), ("dbh", "0"), ("lat", "45.0101"), ("lon", "-29.4901"),
    }  # fmt: skip
    told = text(page)
    assert "stem size 0 <span" in told
    assert '<span aria-hidden="true">→</span> unknown</span>' in told


def test_rows_are_filtered_by_reason_verdict_and_line(client: Client) -> None:
    address = checked(client)
    assert lines(client.get(f"{address}?reason=no_coordinates")) == [5]
    assert lines(client.get(f"{address}?verdict=refused")) == [5, 6]
    assert lines(client.get(f"{address}?verdict=warned")) == [3, 4]
    assert lines(client.get(f"{address}?line=5")) == [5, 6]
    assert lines(client.get(f"{address}?reason=nonsense&verdict=nonsense&line=x")) == [3, 4, 5, 6]


def test_what_is_listed_is_downloaded_and_no_cell_is_a_formula(client: Client) -> None:
    address = checked(client)
    answer = client.get(f"{address}/rows.csv?verdict=refused")
    assert answer["Content-Disposition"].startswith('attachment; filename="check-')
    told = list(csv.DictReader(io.StringIO(streamed(answer).decode())))
    assert [row["line"] for row in told] == ["5", "6"]
    assert told[1]["lon"] == "'=2+3"
    assert len(list(csv.DictReader(io.StringIO(streamed(client.get(f"{address}/rows.csv")).decode())))) == 4


def test_a_check_leads_back_to_its_survey_and_on_to_the_load(client: Client) -> None:
    address = checked(client)
    page = client.get(address)
    back = f"/jobs/{page.context['survey'].uid}?mapping={address.rsplit('/', 1)[1]}"
    assert f'href="{back}"' in text(page)
    assert client.get(back).context["source"] == "the mapping that was checked"
    assert "Load the accepted rows" in text(page)
    # With nothing standing there is nothing to merge with.
    assert "Compare with the inventory" not in text(page)


def test_a_check_whose_rows_were_dropped_for_newer_ones_says_so(client: Client) -> None:
    address = checked(client)
    IntakeCheck.objects.all().delete()
    page = client.get(address)
    assert "have been dropped for newer ones" in text(page)
    assert page.context["page"] is None
    assert client.get(f"{address}/rows.csv").status_code == 404


def test_the_auditor_looks_and_cannot_load(place: Town) -> None:
    address = checked(visitor(place.people["forester"]))
    auditor = visitor(place.people["auditor"])
    page = auditor.get(address)
    assert lines(page)
    assert "Load the accepted rows" not in text(page)
    assert auditor.get(f"{address}/rows.csv").status_code == 200
    assert visitor(place.people["inspector"]).get(f"{address}/rows.csv").status_code == 403


def test_the_number_of_queries_does_not_grow_with_the_rows(client: Client) -> None:
    def queries(content: str) -> int:
        address = checked(client, content)
        with CaptureQueriesContext(connection) as found:
            client.get(address)
        return len(found)

    many = CSV + "".join(f"B{n},Unheard {n},20,,\n" for n in range(40))
    assert queries(CSV) == queries(many)
