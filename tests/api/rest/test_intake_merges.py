"""Merging through HTTP: a dry run and the merge as jobs, the rows paged and as CSV, undo; what is wrong is named."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from inventory.intake import mapping
from inventory.models import Tree
from tests.support import intake, merging
from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.intake import species as species
from tests.support.jobs import run_job
from tests.support.query_counts import check, counted
from workers.models import Job

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
FIRST = [intake.row(number) for number in range(1, 13)]
LATER = [
    *FIRST[:6], intake.row(7, dbh="12"), intake.row(8, species="Tilia americana"),
    intake.row(9, species="Stump", dbh=""), intake.row(30), intake.row(31, lat=""),
]  # fmt: skip


@pytest.fixture
def forester() -> APIClient:
    return as_role("forester")


@pytest.fixture
def body(tmp_path: Path, forester: APIClient) -> dict[str, Any]:
    """A city loaded, and a later file uploaded."""
    merging.load(tmp_path, FIRST)
    content = intake.write(tmp_path / "later.csv", LATER).read_bytes()
    file = SimpleUploadedFile("later.csv", content)
    sent = forester.post(f"{V1}/intake/files", {"file": file}, format="multipart").json()
    return {"sha256": sent["sha256"], "name": "later.csv", "mapping": mapping.to_dict(intake.mapping())}


def test_from_the_dry_run_to_the_merge_and_back(
    forester: APIClient, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = merging.standing()
    dry = run_job(forester, "intake/merge-checks", body, monkeypatch)
    assert (dry["kind"], dry["state"], dry["result"]["state"]) == ("intake_merge_check", "done", "checked")
    assert merging.standing() == before
    kinds = {kind: number for kind, number in dry["result"]["counts"]["kinds"].items() if number}
    assert kinds == {"same": 6, "changed": 2, "gone": 1, "appeared": 1, "refused": 1, "vanished": 3}
    assert [row["line"] for row in dry["result"]["examples"]["changed"]] == [8, 9]
    body["choices"] = {"kinds": {"gone": "file", "vanished": "file"}}
    done = run_job(forester, "intake/merges", body, monkeypatch)["result"]
    shown = forester.get(f"{V1}/intake/merges/{done['merge']}").json()
    assert (shown["state"], shown["load"], shown["file_name"]) == ("merged", done["load"], "later.csv")
    assert shown["choices"]["kinds"]["gone"] == "file"
    assert shown["counts"]["taken"] == done["counts"]["taken"]
    states = Tree.objects.values_list("state", flat=True)
    assert sorted(states) == ["alive"] * 9 + ["removed"] * 3 + ["stump"]
    load = forester.get(f"{V1}/intake/loads/{done['load']}").json()
    assert load["merge"] == done["merge"]
    assert [merge["state"] for merge in forester.get(f"{V1}/intake/merges").json()["items"]] == ["checked", "merged"]
    undone = run_job(forester, f"intake/loads/{done['load']}/undo", {}, monkeypatch)
    assert undone["result"]["state"] == "undone"
    assert merging.standing() == before
    assert len(forester.get(f"{V1}/intake/merges?state=undone").json()["items"]) == 1
    problem(forester.post(f"{V1}/intake/loads/{done['load']}/undo", headers=key()), 409, "conflict")


def test_the_rows_are_paged_filtered_and_downloaded(
    forester: APIClient, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    uid = run_job(forester, "intake/merge-checks", body, monkeypatch)["result"]["merge"]
    place = f"{V1}/intake/merges/{uid}/rows"
    lines, address = [], f"{place}?limit=3"
    while address:
        page = forester.get(address).json()
        lines += [row["line"] for row in page["items"]]
        address = page["next"]
    assert lines == [8, 9, 10, 11, 12, None, None, None]
    (renamed,) = forester.get(f"{place}?kind=changed&field=species").json()["items"]
    assert renamed["tree"] == str(Tree.objects.get(external_key="T8").uid)
    assert renamed["differences"] == [
        {"field": "species", "ours": "Tilia cordata", "file": "Tilia americana", "standing": "free", "taken": True}
    ]
    assert forester.get(f"{place}?standing=conflict").json()["items"] == []
    problem(forester.get(f"{place}?kind=felled"), 400, "invalid")
    answer = forester.get(f"{place}.csv?kind=changed")
    text = b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
    assert text.splitlines()[0].startswith("line,tree,kind,taken,key,species,dbh_cm,longitude,latitude")
    assert "species: Tilia cordata -> Tilia americana" in text.splitlines()[2]
    assert len(text.splitlines()) == 3


def test_a_file_of_another_city_is_a_problem_of_the_job_unless_asked_for(
    forester: APIClient, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr("inventory.intake.merge.plan.LEAST_MATCHED", 1.0)
        failed = run_job(forester, "intake/merge-checks", body, monkeypatch)
        assert (failed["state"], failed["problem"]["errors"][0]["pointer"]) == ("failed", "#/file")
        assert "no later file of this city" in failed["problem"]["detail"]
        assert run_job(forester, "intake/merge-checks", body | {"anyway": True}, monkeypatch)["state"] == "done"


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"choices": {"kinds": {"felled": "file"}}}, "#/choices/kinds/felled"),
        ({"choices": []}, "#/choices"),
        ({"choices": {"lines": {"x": "file"}}}, "#/choices/lines/x"),
        ({"anyway": "perhaps"}, "#/anyway"),
        ({"mapping": {}}, "#/mapping/column"),
    ],
)
def test_what_is_wrong_is_named_at_once(
    forester: APIClient, body: dict[str, Any], more: dict[str, Any], pointer: str
) -> None:
    for what in ("merge-checks", "merges"):
        answer = forester.post(f"{V1}/intake/{what}", body | more, headers=key(), format="json")
        assert pointers(problem(answer, 400, "invalid")) == {pointer}
    assert Job.objects.count() == 0


def test_a_merge_that_is_not_there_is_missing(forester: APIClient) -> None:
    nothing = "00000000-0000-0000-0000-000000000000"
    for address in (f"merges/{nothing}", f"merges/{nothing}/rows", f"merges/{nothing}/rows.csv", f"checks/{nothing}"):
        problem(forester.get(f"{V1}/intake/{address}"), 404, "not-found")


def test_no_list_makes_a_query_a_row(
    forester: APIClient, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lists of one and of several, and a page of one row and of all: as many queries, and no more than they were."""
    uid = run_job(forester, "intake/merge-checks", body, monkeypatch)["result"]["merge"]
    dry = run_job(forester, "intake/checks", body, monkeypatch)["result"]["check"]
    lists = {
        "intake/merges": "intake/merges",
        "intake/checks": "intake/checks",
        "intake/loads": "intake/loads",
        f"intake/merges/{uid}/rows": "intake/merges/{uid}/rows",
        f"intake/checks/{dry}/rows": "intake/checks/{uid}/rows",
    }
    few = {address: counted(lambda at=address: forester.get(f"{V1}/{at}?limit=1")) for address in lists}
    run_job(forester, "intake/merge-checks", body, monkeypatch)
    run_job(forester, "intake/checks", body, monkeypatch)
    for address, name in lists.items():
        assert counted(lambda at=address: forester.get(f"{V1}/{at}")) <= few[address]
        check(f"GET {name} forester", few[address])


def test_the_list_of_jobs_leaves_their_results_to_each_job(
    forester: APIClient, body: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    done = run_job(forester, "intake/merge-checks", body, monkeypatch)
    (listed,) = forester.get(f"{V1}/jobs", {"kind": "intake_merge_check"}).json()["items"]
    assert listed == {name: value for name, value in done.items() if name != "result"}
