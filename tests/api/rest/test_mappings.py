"""Saved mappings through HTTP: kept, replaced, read back the same, forgotten; wrong ones told key by key."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from inventory.history import SERVICE
from inventory.intake import mapping, saved
from inventory.models import IntakeMapping
from tests.support import intake
from tests.support.http import V1, as_role, key, pointers, problem
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


def test_the_list_takes_the_same_queries_for_one_and_for_many(forester: APIClient) -> None:
    saved.save(SERVICE, "0", intake.mapping())
    one = counted(lambda: forester.get(PLACE))
    check("GET intake/mappings forester", one)
    for number in range(1, 12):
        saved.save(SERVICE, str(number), intake.mapping())
    assert counted(lambda: forester.get(PLACE)) == one
