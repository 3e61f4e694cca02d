"""The intake as jobs, files kept by content, and what is read of loads afterwards."""

import csv
import io
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage

from inventory.history import SERVICE
from inventory.intake import files, mapping, queries, report, run
from inventory.intake.checks import BY_NAME
from inventory.intake.progress import silent
from inventory.models import Tree
from inventory.problems import Invalid, Missing
from tests.support import intake
from tests.support.intake import species as species

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
ROWS = [
    *(intake.row(number) for number in range(1, 6)),
    intake.row(6, dbh="0"),
    intake.row(7, lat="", address="=1+1"),
    intake.row(8, dbh="0", species="Stump"),
]


@pytest.fixture
def stored(tmp_path: Path) -> files.Stored:
    return files.store([intake.write(tmp_path / "trees.csv", ROWS).read_bytes()])


def params(stored: files.Stored, **more: Any) -> dict[str, Any]:
    return {
        "sha256": stored.sha256,
        "name": "trees.csv",
        "mapping": mapping.to_dict(intake.mapping()),
    } | more


def test_a_file_is_kept_once_by_its_content(stored: files.Stored, tmp_path: Path) -> None:
    again = files.store((tmp_path / "trees.csv").read_bytes().splitlines(keepends=True))
    assert again == stored
    folder = f"intake/{stored.sha256[:2]}"
    assert default_storage.listdir(folder)[1] == [stored.sha256]
    with files.opened(stored.sha256, "trees.csv") as source:
        assert (source.name, source.sha256, source.columns) == ("trees.csv", stored.sha256, list(intake.HEADING))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"a,b\n\0"])
def test_what_cannot_be_read_is_not_kept(content: bytes) -> None:
    with pytest.raises(Invalid):
        files.store([content])


@pytest.mark.parametrize("sha256", ["", "0" * 64, "../../etc/passwd", "A" * 64])
def test_only_kept_files_are_opened(sha256: str) -> None:
    with pytest.raises(Missing), files.opened(sha256):
        pass


def test_survey_check_and_load_as_jobs_do(stored: files.Stored) -> None:
    surveyed = run.survey(SERVICE, params(stored), silent)
    assert surveyed["rows"] == len(ROWS)
    checked = run.check(SERVICE, params(stored), silent)
    assert checked["counts"]["refused"] == 1
    assert {check["name"]: check["rows"] for check in checked["checks"]}["dbh_zero"] == 2
    assert Tree.objects.count() == 0
    loaded = run.load(SERVICE, params(stored), silent)
    assert loaded["counts"] == checked["counts"]
    assert run.load(SERVICE, params(stored), silent)["already_loaded"]


def test_wrong_parameters_are_refused(stored: files.Stored) -> None:
    with pytest.raises(Invalid, match="skip or stop"):
        run.load(SERVICE, params(stored, refused="maybe"), silent)
    with pytest.raises(Invalid):
        run.check(SERVICE, params(stored, mapping={"column": []}), silent)
    assert Tree.objects.count() == 0


def test_reasons_are_counted_with_examples(stored: files.Stored) -> None:
    loaded = run.load(SERVICE, params(stored), silent)
    load = queries.load(uuid.UUID(loaded["load"]))
    counts = {reason.name: reason for reason in queries.verdict_counts(load, examples=1)}
    assert counts["dbh_zero"].rows == 2
    assert counts["dbh_zero"].examples == [(7, "stem size 0 -> unknown")]
    assert list(counts) == [name for name in BY_NAME if name in counts]
    assert [row.line for row in queries.verdicts(load, reason="dbh_zero")] == [7, 9]
    assert [row.line for row in queries.verdicts(load, verdict="refused")] == [8]
    assert list(queries.loads()) == [load]
    with pytest.raises(Missing):
        queries.load(uuid.uuid4())


def test_the_report_keeps_columns_in_order_and_defuses_formulas(stored: files.Stored) -> None:
    loaded = run.load(SERVICE, params(stored), silent)
    load = queries.load(uuid.UUID(loaded["load"]))
    text = b"".join(report.write(queries.verdicts(load), queries.columns(load))).decode()
    lines = list(csv.reader(io.StringIO(text)))
    assert lines[0] == [*report.HEADING, *intake.HEADING]
    refused = dict(zip(lines[0], lines[2], strict=True))
    assert (refused["line"], refused["reasons"], refused["address"]) == ("8", "no_coordinates", "'=1+1")
    assert refused["lon"] == ROWS[6][-1]
