"""Saved mappings through HTTP: kept, replaced, read back the same, forgotten; wrong ones told key by key."""

from pathlib import Path
from typing import Any

import pytest
from rest_framework.test import APIClient

from inventory.history import SERVICE
from inventory.intake import mapping, saved
from inventory.models import IntakeMapping
from tests.support import build, intake
from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.intake import species as species
from tests.support.jobs import run_job
from tests.support.query_counts import check, counted

pytestmark = pytest.mark.django_db
MAPPING = mapping.to_dict(intake.mapping())
PLACE = f"{V1}/intake/mappings"


@pytest.fixture
def forester() -> APIClient:
    return as_role("forester")


def keep(client: APIClient, **changes: Any) -> dict[str, Any]:
    body = {"name": "Street trees", "mapping": MAPPING, "headings": list(intake.HEADING)} | changes
    response = client.post(PLACE, body, headers=key(), format="json")
    assert response.status_code == 201, response.content
    answer: dict[str, Any] = response.json()
    return answer


def test_a_mapping_is_kept_replaced_read_and_forgotten(forester: APIClient) -> None:
    kept = keep(forester)
    assert (kept["name"], kept["mapping"]) == ("Street trees", MAPPING)
    assert kept["headings"] == sorted(intake.HEADING)
    changed = {**MAPPING, "file": {**MAPPING["file"], "decimal": ","}}
    again = keep(forester, mapping=changed)
    assert (again["uid"], IntakeMapping.objects.count()) == (kept["uid"], 1)
    assert forester.get(f"{PLACE}/{kept['uid']}").json()["mapping"] == changed
    (shown,) = forester.get(PLACE).json()["items"]
    assert (shown["uid"], "mapping" in shown) == (kept["uid"], False)
    assert forester.delete(f"{PLACE}/{kept['uid']}").status_code == 204
    problem(forester.get(f"{PLACE}/{kept['uid']}"), 404, "not-found")
    problem(forester.delete(f"{PLACE}/{kept['uid']}"), 404, "not-found")


def test_a_wrong_mapping_is_told_key_by_key_and_not_kept(forester: APIClient) -> None:
    wrong = {"file": {"crs": 7}, "column": [{"heading": "a", "role": "leaf"}]}
    response = forester.post(PLACE, {"name": "x", "mapping": wrong}, headers=key(), format="json")
    assert {"#/mapping/file/crs", "#/mapping/column/0/role"} <= pointers(problem(response, 400, "invalid"))
    response = forester.post(PLACE, {"name": "", "mapping": MAPPING}, headers=key(), format="json")
    assert pointers(problem(response, 400, "invalid")) == {"#/name"}
    assert not IntakeMapping.objects.exists()


def test_a_survey_holds_pictures_places_and_the_mappings_that_fit(
    forester: APIClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, species: None
) -> None:
    rows = [intake.row(n, lat=f"{build.LAT + n * 0.00013:.6f}", dbh=3 + n % 30) for n in range(60)]
    content = intake.write(tmp_path / "trees.csv", rows).read_bytes()
    sha256 = forester.post(f"{V1}/intake/files", content, content_type="text/csv").json()["sha256"]
    kept = keep(forester)
    result = run_job(forester, "intake/surveys", {"sha256": sha256}, monkeypatch)["result"]
    (fit,) = result["fits"]
    assert (fit["uid"], fit["name"], fit["alike"]) == (kept["uid"], "Street trees", 1.0)
    glances = {column["heading"]: column["glance"] for column in result["columns"]}
    assert sum(glances["dbh"]["histogram"]["counts"]) == 60
    assert glances["species"]["texts"][0]["rows"] == 60
    assert (len(result["map"]["points"]), result["map"]["crs"]) == (60, 4326)
    assert result["sampled"] == 60


def test_a_survey_is_asked_for_under_a_layout_and_a_wrong_one_is_told(
    forester: APIClient, monkeypatch: pytest.MonkeyPatch, species: None
) -> None:
    content = b"1;Tilia cordata;45.01;-29.49\n2;Tilia cordata;45.02;-29.48\n"
    sha256 = forester.post(f"{V1}/intake/files", content, content_type="text/csv").json()["sha256"]
    body = {"sha256": sha256, "layout": {"format": "csv", "delimiter": ";", "header": False}}
    result = run_job(forester, "intake/surveys", body, monkeypatch)["result"]
    assert (result["rows"], len(result["columns"])) == (2, 4)
    wrong = {"sha256": sha256, "layout": {"delimiter": ";;", "colour": "red"}}
    response = forester.post(f"{V1}/intake/surveys", wrong, headers=key(), format="json")
    assert pointers(problem(response, 400, "invalid")) == {"#/layout/delimiter", "#/layout/colour"}


def test_the_list_takes_the_same_queries_for_one_and_for_many(forester: APIClient) -> None:
    saved.save(SERVICE, "0", intake.mapping())
    one = counted(lambda: forester.get(PLACE))
    check("GET intake/mappings forester", one)
    for number in range(1, 12):
        saved.save(SERVICE, str(number), intake.mapping())
    assert counted(lambda: forester.get(PLACE)) == one
