"""`manage.py calculate`: JSON in and out, the same problem documents, pictures, exit codes."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from assessments import services
from assessments.calculations import KINDS, run
from assessments.methods.policy import default_policy_text
from inventory.history import SERVICE


def calculate(kind: str, source: Path | str, *options: str) -> tuple[int, str, str]:
    out, error = io.StringIO(), io.StringIO()
    try:
        call_command("calculate", kind, "--input", str(source), *options, stdout=out, stderr=error)
    except SystemExit as end:
        return int(end.code or 0), out.getvalue(), error.getvalue()
    return 0, out.getvalue(), error.getvalue()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "request.json"


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_gives_what_the_registry_gives(kind: str, file: Path) -> None:
    file.write_text(json.dumps(KINDS[kind].example))
    code, out, error = calculate(kind, file)
    assert (code, error) == (0, "")
    assert json.loads(out) == json.loads(json.dumps(run(KINDS[kind], KINDS[kind].example).answer))


def test_standard_input_is_read_by_default(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(json.dumps(KINDS["risk"].example)))
    out = io.StringIO()
    call_command("calculate", "risk", stdout=out)
    assert json.loads(out.getvalue())["risk"] in ("low", "moderate", "high", "extreme")


@pytest.mark.parametrize(
    ("text", "kind", "pointer"),
    [
        ('{"dbh_cm": NaN, "standard": "bs5837"}', "invalid", "#/dbh_cm"),
        ('{"dbh_cm": 1e400, "standard": "bs5837"}', "invalid", "#/dbh_cm"),
        ('{"dbh_cm": 50}', "invalid", "#/standard"),
        ('{"dbh_cm": ', "unreadable", None),
    ],
)
def test_a_wrong_request_is_a_problem_document_and_exit_code_1(
    file: Path, text: str, kind: str, pointer: str | None
) -> None:
    file.write_text(text)
    code, out, error = calculate("root-zone", file)
    assert (code, out) == (1, "")
    problem: dict[str, Any] = json.loads(error)
    assert problem["type"] == f"/problems/{kind}"
    assert problem["status"] == 400
    assert [one["pointer"] for one in problem.get("errors", [])] == ([pointer] if pointer else [])


def test_a_file_that_is_not_there_or_not_utf_8_or_too_large_is_told(file: Path) -> None:
    assert "No such file" in calculate("risk", file)[2]
    file.write_bytes(b"\xff\xfe")
    assert "not UTF-8" in calculate("risk", file)[2]
    file.write_bytes(b" " * (4 * 1024 * 1024 + 1))
    assert "4194304 bytes at most" in calculate("risk", file)[2]


def test_the_picture_goes_to_its_file(file: Path, tmp_path: Path) -> None:
    file.write_text(json.dumps(KINDS["section"].example))
    picture = tmp_path / "section.svg"
    assert calculate("section", file, "--picture", str(picture))[0] == 0
    assert picture.read_text().startswith("<svg")


def test_an_example_can_be_asked_for() -> None:
    out = io.StringIO()
    call_command("calculate", "support", "--example", stdout=out)
    assert json.loads(out.getvalue()) == KINDS["support"].example


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(CommandError, match="invalid choice"):
        call_command("calculate", "volume")


@pytest.mark.django_db
def test_the_wind_of_the_city_stands_in_where_it_is_asked_for(file: Path) -> None:
    data = json.loads(default_policy_text()) | {"wind": {"check_gust_m_s": 41}}
    services.adopt_policy(SERVICE, data, "the wind of the city")
    file.write_text(json.dumps(KINDS["stem-load"].example | {"wind": None}))
    _, out, _ = calculate("stem-load", file, "--city")
    assert any("41 m/s" in note for note in json.loads(out)["notes"])
