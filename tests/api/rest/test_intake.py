"""The intake through HTTP: a file up, jobs asked for, verdicts read, undo."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from inventory import services
from inventory.history import SERVICE
from inventory.intake import mapping
from inventory.models import Tree
from tests.support import intake
from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.intake import species as species
from tests.support.jobs import run_job
from workers.models import Job

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
ROWS = [*(intake.row(number) for number in range(1, 5)), intake.row(5, lat=""), intake.row(6, dbh="0")]


@pytest.fixture
def content(tmp_path: Path) -> bytes:
    return intake.write(tmp_path / "trees.csv", ROWS).read_bytes()


@pytest.fixture
def forester() -> APIClient:
    return as_role("forester")


def upload(client: APIClient, content: bytes) -> str:
    response = client.post(f"{V1}/intake/files", {"file": SimpleUploadedFile("t.csv", content)}, format="multipart")
    assert response.status_code == 201, response.content
    return str(response.json()["sha256"])


def asked(client: APIClient, what: str, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Ask for a job of the intake, run it here as a worker would, and follow its Location."""
    return run_job(client, f"intake/{what}", body, monkeypatch)


def test_from_the_file_to_the_trees_and_back(
    forester: APIClient, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    body: dict[str, Any] = {"sha256": upload(forester, content), "name": "trees.csv"}
    surveyed = asked(forester, "surveys", body, monkeypatch)
    assert surveyed["state"] == "done"
    body["mapping"] = mapping.to_dict(intake.mapping())
    assert asked(forester, "checks", body, monkeypatch)["result"]["counts"]["refused"] == 1
    assert Tree.objects.count() == 0
    done = asked(forester, "loads", body, monkeypatch)
    assert Tree.objects.count() == 5
    place = f"{V1}/intake/loads/{done['result']['load']}"
    shown = forester.get(place).json()
    assert (shown["file_name"], shown["state"], shown["counts"]["trees"]) == ("trees.csv", "loaded", 5)
    assert {reason["name"] for reason in shown["reasons"]} == {"no_coordinates", "dbh_zero"}
    assert [load["uid"] for load in forester.get(f"{V1}/intake/loads").json()["items"]] == [shown["uid"]]
    undone = asked(forester, f"loads/{shown['uid']}/undo", {}, monkeypatch)
    assert (undone["kind"], undone["state"], undone["result"]["state"]) == ("intake_undo", "done", "undone")
    assert Tree.objects.count() == 0
    problem(forester.post(f"{place}/undo", headers=key()), 409, "conflict")


def test_verdicts_are_paged_filtered_and_downloaded(
    forester: APIClient, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    body = {"sha256": upload(forester, content), "mapping": mapping.to_dict(intake.mapping())}
    place = f"{V1}/intake/loads/{asked(forester, 'loads', body, monkeypatch)['result']['load']}/verdicts"
    first = forester.get(f"{place}?limit=1").json()
    second = forester.get(first["next"]).json()
    assert [row["line"] for page in (first, second) for row in page["items"]] == [6, 7]
    assert second["next"] is None
    (warned,) = forester.get(f"{place}?reason=dbh_zero").json()["items"]
    assert (warned["verdict"], warned["cells"]["id"]) == ("warned", "T6")
    (refused,) = forester.get(f"{place}?verdict=refused").json()["items"]
    assert refused["details"] == ["the row has no coordinates"]
    problem(forester.get(f"{place}?reason=unheard"), 400, "invalid")
    response = forester.get(f"{place}.csv")
    text = b"".join(response.streaming_content).decode()  # type: ignore[attr-defined]
    assert text.splitlines()[0] == "line,verdict,reasons,details," + ",".join(intake.HEADING)
    assert len(text.splitlines()) == 3


def test_an_undo_that_something_builds_on_fails_and_says_what(
    forester: APIClient, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    body = {"sha256": upload(forester, content), "mapping": mapping.to_dict(intake.mapping())}
    load = asked(forester, "loads", body, monkeypatch)["result"]["load"]
    tree = Tree.objects.get(external_key="T1")
    services.edit_tree(SERVICE, tree, {"note": "seen"}, version=tree.version, why="looked")
    failed = asked(forester, f"loads/{load}/undo", {}, monkeypatch)
    assert (failed["state"], failed["problem"]["status"]) == ("failed", 409)
    assert "1 trees changed since" in failed["problem"]["detail"]
    assert Tree.objects.count() == 5


def test_the_rows_of_a_dry_run_are_paged_filtered_and_downloaded(
    forester: APIClient, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    body = {"sha256": upload(forester, content), "mapping": mapping.to_dict(intake.mapping())}
    place = f"{V1}/intake/checks/{asked(forester, 'checks', body, monkeypatch)['result']['check']}"
    shown = forester.get(place).json()
    assert (shown["counts"]["rows"], shown["counts"]["refused"]) == (6, 1)
    assert [check["uid"] for check in forester.get(f"{V1}/intake/checks").json()["items"]] == [shown["uid"]]
    first = forester.get(f"{place}/rows?limit=1").json()
    second = forester.get(first["next"]).json()
    assert [row["line"] for page in (first, second) for row in page["items"]] == [6, 7]
    (zero,) = forester.get(f"{place}/rows?reason=dbh_zero").json()["items"]
    assert (zero["verdict"], zero["details"], zero["cells"]["id"]) == ("warned", ["stem size 0 -> unknown"], "T6")
    text = b"".join(forester.get(f"{place}/rows.csv?verdict=refused").streaming_content).decode()  # type: ignore[attr-defined]
    assert text.splitlines()[0] == "line,verdict,reasons,details," + ",".join(intake.HEADING)
    assert len(text.splitlines()) == 2


def test_what_a_survey_noted_is_kept_with_the_load(
    forester: APIClient, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    body: dict[str, Any] = {"sha256": upload(forester, content)}
    surveyed = asked(forester, "surveys", body, monkeypatch)["result"]
    body["mapping"] = mapping.to_dict(intake.mapping())
    load = asked(forester, "loads", body, monkeypatch)["result"]["load"]
    notes = forester.get(f"{V1}/intake/loads/{load}").json()["notes"]
    evidence = {column["heading"]: column["evidence"] for column in surveyed["columns"]}
    assert f"id: key. {evidence['id']}" in notes
    assert [note for note in notes if note.startswith("look at: ")] == [f"look at: {d}" for d in surveyed["doubts"]]


def test_a_plain_body_is_the_same_file_as_a_form(forester: APIClient, content: bytes) -> None:
    response = forester.post(f"{V1}/intake/files", content, content_type="text/csv")
    assert response.status_code == 201, response.content
    assert response.json() == {"sha256": upload(forester, content), "size": len(content)}


def test_a_file_that_cannot_be_read_is_refused_at_the_door(forester: APIClient, settings: LazySettings) -> None:
    for content, told in ((b"PK\x03\x04", "ZIP"), (b"a,b\n\0", "binary"), (b"", "empty")):
        body = problem(forester.post(f"{V1}/intake/files", content, content_type="text/csv"), 400, "invalid")
        assert pointers(body) == {"#/file"}
        assert told in body["detail"]
    problem(forester.post(f"{V1}/intake/files", {}, format="multipart"), 400, "invalid")
    settings.UPLOAD_MAX_BYTES = 10
    answer = forester.post(f"{V1}/intake/files", b"a,b\n1,2\n3,4\n", content_type="text/csv")
    assert "more than 10 bytes" in problem(answer, 400, "invalid")["detail"]


def test_a_wrong_mapping_is_refused_at_once_and_names_the_key(forester: APIClient, content: bytes) -> None:
    tables = mapping.to_dict(intake.mapping())
    tables["column"][2]["unit"] = "yards"
    body = {"sha256": upload(forester, content), "mapping": tables}
    for what in ("checks", "loads"):
        answer = forester.post(f"{V1}/intake/{what}", body, headers=key(), format="json")
        assert pointers(problem(answer, 400, "invalid")) == {"#/mapping/column/2/unit"}
    assert Job.objects.count() == 0


def test_a_job_over_an_unknown_file_fails_with_a_problem(forester: APIClient, monkeypatch: pytest.MonkeyPatch) -> None:
    failed = asked(forester, "surveys", {"sha256": "0" * 64}, monkeypatch)
    assert (failed["state"], failed["problem"]["status"]) == ("failed", 404)
