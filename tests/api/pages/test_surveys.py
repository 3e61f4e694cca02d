"""The page of a survey: columns as found, the mapping corrected field by field, kept under a name and taken again."""

import re
from datetime import date
from typing import Any
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.history import SERVICE
from inventory.intake import mapping as mappings
from inventory.intake import saved
from inventory.models import Event, IntakeMapping, Tree
from tests.support import build
from tests.support.jobs import worked
from tests.support.pages import MAPPING, Town, streamed, text, visitor
from workers.models import Job

pytestmark = pytest.mark.django_db
HEADING = "Baumnr;Botanischer Name;Stammumfang (cm);Vitalität;Maßnahme;lat;lon\n"
HEALTH = ("Stufe 1", "Stufe 2", "tot")
FILE = HEADING + "".join(
    f"{n};{('Tilia cordata', 'Acer campestre')[n % 2]};{60 + 3 * (n % 40)};{HEALTH[n % 3]};Schnitt;"
    f"{45 + n / 9000:.6f};{-29.5 + n / 8000:.6f}\n"
    for n in range(90)
)


@pytest.fixture(autouse=True)
def _no_broker() -> "object":
    """Jobs are rows; the tests run them themselves."""
    with mock.patch("workers.wake.send"):
        yield


@pytest.fixture
def client(db: None) -> Client:
    build.municipality()
    build.species("Tilia cordata")
    build.species("Acer campestre")
    return visitor(build.user("forester"))


def surveyed(client: Client, content: str = FILE, name: str = "trees.csv") -> str:
    answer = client.post("/loads", {"file": SimpleUploadedFile(name, content.encode())})
    assert worked(answer["Location"]).state == "done"
    return str(answer["Location"])


def rows(page: Any) -> dict[str, Any]:
    return {row.heading: row for row in page.context["rows"]}


def sent(page: Any, **changes: str) -> dict[str, Any]:
    """What a browser would send: every field of the form as it is shown, and what a person changed."""
    values: dict[str, Any] = {"do": "check", "rest": page.context["rest"]}
    for name, body in re.findall(r'<select id="([^"]+)"[^>]*>(.*?)</select>', text(page), re.DOTALL):
        chosen = re.findall(r'<option value="([^"]*)"[^>]* selected>', body)
        first = re.findall(r'<option value="([^"]*)"', body)
        values[name] = (chosen or first)[0]
    values |= dict(re.findall(r'<input type="hidden" name="(text-[^"]+)" value="([^"]*)">', text(page)))
    return values | {name.replace("_", "-"): value for name, value in changes.items()}


def place(page: Any, heading: str) -> int:
    return int(rows(page)[heading].place)


def test_each_column_is_shown_with_what_was_found_and_why(client: Client) -> None:
    page = client.get(surveyed(client))
    found = rows(page)
    girth = found["Stammumfang (cm)"]
    assert (girth.role, girth.unit, girth.sure) == ("girth", "cm", "sure")
    assert 'aria-label="Histogram of Stammumfang (cm): half of 90 values are under' in girth.picture
    assert [(name, count) for name, count, _ in found["Vitalität"].texts] == [(word, 30) for word in HEALTH]
    told = text(page)
    assert girth.found["evidence"][1:] in told.replace("&#x27;", "'")
    assert "Plan of the places of 90 rows" in told
    # 89 steps of 1/9000 degree are 1.1 km from south to north: a minute of latitude is 1.852 km.
    assert f"{89 / 9000 * 60 * 1.852:.1f}\u00a0km from south to north" in told
    assert "EPSG:4326" in told


def test_what_is_left_out_says_why(client: Client) -> None:
    page = client.get(surveyed(client, FILE.replace("Maßnahme", "xyz").replace("Schnitt", "q17")))
    assert not rows(page)["xyz"].taken
    assert "Neither the heading nor the values tell a role" in text(page)


def test_the_form_as_it_stands_asks_for_a_check_under_the_suggested_mapping(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    answer = client.post(f"{address}/mapping", sent(page))
    job = worked(answer["Location"])
    suggested = mappings.from_dict(page.context["survey"]["mapping"])
    assert mappings.from_dict(job.params["mapping"]) == suggested
    assert job.params["survey"] == address.rsplit("/", 1)[1]
    assert job.state == "done"
    assert not Tree.objects.exists()


def test_what_a_person_corrects_is_what_is_checked(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    at, health = place(page, "Stammumfang (cm)"), place(page, "Vitalität")
    page = client.post(f"{address}/mapping", sent(page, **{f"role_{health}": "condition"}) | {"do": "refresh"})
    changes = {f"role_{at}": "dbh", f"unit_{at}": "mm", f"role_{place(page, 'Maßnahme')}": "ignored"}
    changes |= {f"word_{health}_0": "fair", f"word_{health}_2": "-", "crs": "4258"}
    values = sent(page, **changes) | {"measured_on": "2024-05-01"}
    job = worked(client.post(f"{address}/mapping", values)["Location"])
    taken = mappings.from_dict(job.params["mapping"])
    assert (taken.crs, taken.measured_on) == (4258, date(2024, 5, 1))
    columns = {column.heading: column for column in taken.columns}
    assert (columns["Stammumfang (cm)"].role, columns["Stammumfang (cm)"].unit) == ("dbh", "mm")
    assert columns["Maßnahme"].role == "ignored"
    first, _, third = (one for one, _, _ in rows(page)["Vitalität"].texts)
    assert dict(columns["Vitalität"].words) == {first: "fair", third: ""}
    # The check leads back to the survey with the same choices.
    again = client.get(f"{address}?mapping={job.uid}")
    assert (rows(again)["Stammumfang (cm)"].unit, rows(again)["Stammumfang (cm)"].changed) == ("mm", True)
    assert [word.chosen for word in rows(again)["Vitalität"].words] == ["fair", "", "-"]
    assert again.context["file"]["measured_on"] == "2024-05-01"


def test_each_problem_stands_at_its_field_and_no_job_is_asked_for(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    girth, number = place(page, "Stammumfang (cm)"), place(page, "Baumnr")
    jobs = Job.objects.count()
    values = sent(page, **{f"unit_{girth}": "", f"role_{number}": "latitude", "crs": "28992"})
    values |= {"measured_on": "yesterday"}
    wrong = client.post(f"{address}/mapping", values)
    assert wrong.status_code == 400
    assert rows(wrong)["Stammumfang (cm)"].errors["unit"] == ["choose the unit: cm, mm, m, in, ft"]
    assert "a second column has the role latitude" in rows(wrong)["lat"].errors["role"][0]
    told = text(wrong)
    assert f'aria-describedby="unit-{girth}_errors"' in told
    assert 'aria-describedby="measured_on_help measured_on_errors"' in told
    assert f'href="#c{girth}"' in told
    assert Job.objects.count() == jobs
    # Nothing that was chosen is lost.
    assert rows(wrong)["Baumnr"].role == "latitude"
    assert wrong.context["file"]["crs"] == 28992


def test_a_column_that_becomes_a_condition_shows_its_words_to_be_mapped(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    at = place(page, "Maßnahme")
    again = client.post(f"{address}/mapping", sent(page, **{f"role_{at}": "state"}) | {"do": "refresh"})
    assert again.status_code == 200
    (word,) = rows(again)["Maßnahme"].words
    assert (word.text, word.rows, word.chosen) == ("Schnitt", 90, "")


def test_a_mapping_is_downloaded_as_the_command_writes_it_and_taken_again(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    at = place(page, "Stammumfang (cm)")
    values = sent(page, **{f"role_{at}": "dbh", f"unit_{at}": "in"}) | {"do": "download"}
    toml = streamed(client.post(f"{address}/mapping", values))
    taken = mappings.parse(toml.decode())
    assert {c.heading: c.unit for c in taken.columns}["Stammumfang (cm)"] == "in"
    assert "# sure: " in toml.decode()
    upload = {"do": "upload", "toml": SimpleUploadedFile("mapping.toml", toml)}
    again = client.post(f"{address}/mapping", upload)
    assert (rows(again)["Stammumfang (cm)"].role, rows(again)["Stammumfang (cm)"].unit) == ("dbh", "in")
    for content, told in ((b"[[column", "not TOML"), (b"\xff\xfe", "not UTF-8"), (b"[file]\ncrs = 7", "EPSG")):
        wrong = client.post(f"{address}/mapping", {"do": "upload", "toml": SimpleUploadedFile("m.toml", content)})
        assert wrong.status_code == 400
        assert told in str(wrong.context["upload_errors"])
    assert client.post(f"{address}/mapping", {"do": "upload"}).status_code == 400


def test_a_mapping_is_saved_and_offered_for_the_next_file_with_the_same_headings(client: Client) -> None:
    address = surveyed(client)
    page = client.get(address)
    at = place(page, "Stammumfang (cm)")
    values = sent(page, **{f"unit_{at}": "mm"}) | {"do": "save", "name": "  Parks   office "}
    answer = client.post(f"{address}/mapping", values)
    kept = IntakeMapping.objects.get()
    assert kept.name == "Parks office"
    assert "saved as Parks office" in text(client.get(answer["Location"]))
    assert Event.objects.filter(kind="intake.mapping_saved").count() == 1
    # The next year: one column more, one less, the others in another order.
    lines = [line.split(";") for line in FILE.splitlines()]
    later = "\n".join(";".join([*line[:4], *line[5:], "new" if n else "Neu"]) for n, line in enumerate(lines))
    second = surveyed(client, later + "\n", "next.csv")
    (fit,) = client.get(second).context["fits"]
    assert (fit.kind, fit.name, fit.shared) == ("saved", "Parks office", 6)
    filled = client.get(f"{second}?saved={kept.uid}")
    assert rows(filled)["Stammumfang (cm)"].unit == "mm"
    notices = " ".join(filled.context["notices"])
    assert "'Maßnahme', which this file does not have" in notices
    assert "'Neu' is new" in notices
    # Saved again under its name it is replaced.
    client.post(f"{second}/mapping", sent(filled) | {"do": "save", "name": "Parks office"})
    assert IntakeMapping.objects.count() == 1
    assert client.post(f"{second}/mapping", sent(filled) | {"do": "save", "name": " "}).status_code == 400


def test_the_mapping_of_an_earlier_load_is_offered_too(place: Town) -> None:
    client = visitor(place.people["forester"])
    content = "id,species,dbh,lat,lon\n" + "".join(
        f"B{n},Tilia cordata,{20 + n % 9},{45 + n / 9000:.6f},{-29.5 + n / 8000:.6f}\n" for n in range(40)
    )
    address = surveyed(client, content)
    (fit,) = client.get(address).context["fits"]
    assert (fit.kind, fit.name, fit.alike) == ("load", "trees.csv", 1.0)
    filled = client.get(f"{address}?load={fit.uid}")
    assert rows(filled)["dbh"].unit == "cm"
    assert "the mapping by which trees.csv was loaded" in text(filled)


def test_a_file_with_other_headings_is_offered_nothing(client: Client) -> None:
    saved.save(SERVICE, "another", mappings.from_dict(MAPPING))
    assert client.get(surveyed(client)).context["fits"] == []


def test_a_file_that_was_taken_apart_wrongly_is_surveyed_again_as_a_person_says(client: Client) -> None:
    address = surveyed(client)
    values = {"do": "read", "encoding": "utf-8", "delimiter": ";", "header": "no"}
    job = worked(client.post(f"{address}/mapping", values)["Location"])
    assert job.state == "done", job.problem
    assert job.result is not None
    assert (len(job.result["columns"]), job.result["rows"]) == (7, 91)
    failed = worked(client.post(f"{address}/mapping", values | {"delimiter": "tab"})["Location"])
    assert failed.problem is not None
    assert "is the delimiter right" in failed.problem["detail"]
    wrong = client.post(f"{address}/mapping", values | {"encoding": "ebcdic"})
    assert wrong.status_code == 400
    assert "ebcdic" in text(wrong)


def test_a_table_of_codes_is_taken_into_the_mapping_with_the_choices_made(client: Client) -> None:
    address = surveyed(client, FILE.replace("Tilia cordata", "TICO").replace("Acer campestre", "ACCA"))
    page = client.get(address)
    at = place(page, "Stammumfang (cm)")
    table = SimpleUploadedFile("codes.csv", b"Kurz,Name\nTICO,Tilia cordata\nACCA,Acer campestre\n")
    values = sent(page, **{f"unit_{at}": "mm"}) | {"do": "codes", "codes": table}
    taken = client.post(f"{address}/mapping", values)
    assert taken.status_code == 200, taken.context["wrong"]
    assert taken.context["codes"] == 2
    assert rows(taken)["Stammumfang (cm)"].unit == "mm"
    # They go on with the form.
    job = worked(client.post(f"{address}/mapping", sent(taken))["Location"])
    assert job.params["mapping"]["codes"] == {"TICO": "Tilia cordata", "ACCA": "Acer campestre"}
    for wrong in (b"", b"one\n1\n", b"a,b\n1,2\n3,4\n"):
        table = SimpleUploadedFile("codes.csv", wrong)
        answer = client.post(f"{address}/mapping", sent(page) | {"do": "codes", "codes": table})
        assert answer.status_code == 400
        assert answer.context["codes_errors"]
    assert client.post(f"{address}/mapping", sent(page) | {"do": "codes"}).status_code == 400


def test_what_no_form_of_ours_sends_is_refused_and_breaks_nothing(client: Client) -> None:
    address = surveyed(client)
    for values in (
        {"do": "check"},
        {"do": "check", "rest": "[1]", "role-0": "no such role", "crs": "99999999999"},
        {"do": "check", "rest": "{", "role-0": "dbh", "unit-0": "<b>", "decimal": "x"},
        {"do": "check", "rest": '{"colour": "red"}'},
        {"do": "save"},
        {"do": "download"},
        {"do": "check", "rest": '{"codes": {"a\\u0000": "b"}}'},
        {"do": "save", "name": "a\0b"},
        {"do": "read", "encoding": "utf-8\0"},
        {"do": "read", "delimiter": "\0"},
    ):
        assert client.post(f"{address}/mapping", values).status_code == 400, values
    assert client.get(f"{address}?mapping=nonsense").status_code == 404
    assert client.get(f"{address}?saved={Job.objects.get().uid}").status_code == 404


def test_looking_is_for_the_auditor_too_but_correcting_is_not(place: Town) -> None:
    build.species("Acer campestre")
    address = surveyed(visitor(place.people["forester"]))
    auditor = visitor(place.people["auditor"])
    page = auditor.get(address)
    assert page.status_code == 200
    assert "<select" not in text(page)
    assert "Stem girth" in text(page)
    assert auditor.post(f"{address}/mapping", {"do": "check"}).status_code == 403
    assert visitor(place.people["inspector"]).get(address).status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_columns(client: Client) -> None:
    def queries(content: str) -> int:
        address = surveyed(client, content)
        with CaptureQueriesContext(
            connection,
        ) as found:
            client.get(address)
        return len(found)

    wide = "\n".join(line + f";{n}" * 40 for n, line in enumerate(FILE.splitlines()))
    wide = wide.replace(HEADING.strip() + ";0" * 40, HEADING.strip() + "".join(f";c{n}" for n in range(40)))
    assert queries(FILE) == queries(wide + "\n")
