"""Decay over the years over HTTP: with its inspection, in a preview, drawn, among the due dates and their reasons."""

import uuid
from typing import Any
from xml.etree import ElementTree

import pytest
import time_machine
from rest_framework.test import APIClient

from assessments import decay_growths, services
from assessments.methods import decay_growth as method
from inventory.models import Tree
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support.http import V1, as_role, problem
from tests.support.query_counts import counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]

CAVITY = {"kind": "cavity", "part": "stem", "height_m": 0.4, "measures": {"depth_cm": 30.0}}


@pytest.fixture(autouse=True)
def _today() -> Any:
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def inspector() -> APIClient:
    return as_role("inspector")


@pytest.fixture
def tree() -> Tree:
    return build.tree(species_id=build.species("Populus nigra", family="Salicaceae", common_en="black poplar").pk)


def body(**members: Any) -> dict[str, Any]:
    section = {**measure.measured(14.5), "uid": str(uuid.uuid4()), "finding": 0}
    sent = {"uid": str(uuid.uuid4()), "inspected_at": "2026-11-25T11:30:00+00:00", "level": "advanced"}
    return sent | {"findings": [CAVITY], "sections": [section]} | members


def recorded(client: APIClient, tree: Tree, sent: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"{V1}/trees/{tree.uid}/inspections", sent)
    assert answer.status_code == 201, answer.content
    return dict(answer.json())


def test_a_part_measured_inside_is_shown_with_its_band_and_date(inspector: APIClient, tree: Tree) -> None:
    sent = body()
    shown = recorded(inspector, tree, sent)
    (grown,) = shown["decay_growths"]
    assert (grown["section"], grown["finding"]) == (sent["sections"][0]["uid"], shown["findings"][0]["uid"])
    assert (grown["part"], grown["height_m"], grown["banded"]) == ("stem", 0.4, True)
    (made,) = grown["results"]
    assert (made["method"], made["version"]) == (method.METHOD, method.VERSION)
    assert made["rests_on"].endswith(" policy/1")
    asked = {**made["asked"], "threshold": {"t_over_r": 0.3}, "chance_percent": 20}
    alone = inspector.post(f"{V1}/calculations/decay-growth", asked).json()
    assert made["result"].items() <= alone.items()
    assert made["due_on"] == f"{2026 + made['first_year']}-11-25"


def test_the_priority_of_the_tree_takes_the_date_and_says_why(inspector: APIClient, tree: Tree) -> None:
    thin = {**measure.measured(12.6), "finding": 0}
    shown = recorded(inspector, tree, body(sections=[thin]))
    due = shown["decay_growths"][0]["results"][0]["due_on"]
    priority = inspector.get(f"{V1}/trees/{tree.uid}/priority").json()
    assert priority["by_rule"]["decay_growth"] == due == priority["inspect_by"]
    assert priority["rule"] == "decay_growth"
    assert any("measure it again" in reason for reason in priority["reasons"])
    (listed,) = inspector.get(f"{V1}/due").json()["items"]
    assert listed["inspect_by"] == due
    assert any("measure it again" in reason for reason in listed["reasons"])


def test_the_band_is_drawn_with_its_words_and_not_sent_twice(inspector: APIClient, tree: Tree) -> None:
    (grown,) = recorded(inspector, tree, body())["decay_growths"]
    answer = inspector.get(grown["picture"])
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    root = ElementTree.fromstring(answer.content)  # noqa: S314 - our own answer
    assert root.find("{http://www.w3.org/2000/svg}desc").text
    assert inspector.get(grown["picture"], HTTP_IF_NONE_MATCH=answer["ETag"]).status_code == 304
    problem(inspector.get(f"{V1}/decay-growths/{uuid.uuid4()}/picture.svg"), 404, "not-found")


def test_a_rot_of_the_root_collar_has_no_band_and_asks_for_a_check(inspector: APIClient, tree: Tree) -> None:
    rot = {"kind": "decay", "part": "root_collar", "measures": {"indicator": "soft_wood"}}
    shown = recorded(inspector, tree, body(findings=[rot], sections=[]))
    (grown,) = shown["decay_growths"]
    assert (grown["banded"], grown["picture"]) == (False, None)
    assert grown["results"][0]["result"]["call"] == "root_collar_examination"
    (check,) = shown["checks"]
    assert (check["kind"], check["source"]) == ("root_collar", "decay")


def test_a_preview_tells_of_it_and_stores_nothing(inspector: APIClient, tree: Tree) -> None:
    (grown,) = inspector.post(f"{V1}/trees/{tree.uid}/inspections/preview", body()).json()["decay"]
    assert (grown["section"], grown["finding"], grown["part"]) == (0, 0, "stem")
    assert grown["result"]["first_year_crossed"] == 3
    assert not tree.inspections.exists()


def test_the_results_of_older_versions_stay_in_sight(
    inspector: APIClient, tree: Tree, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = recorded(inspector, tree, body())
    monkeypatch.setattr(decay_growths, "VERSION", method.VERSION + 1)
    services.recompute_growths()
    (grown,) = inspector.get(f"{V1}/inspections/{shown['uid']}").json()["decay_growths"]
    assert [one["version"] for one in grown["results"]] == [method.VERSION + 1, method.VERSION]


def test_many_inspections_are_read_in_as_many_queries_as_one(inspector: APIClient, tree: Tree) -> None:
    url = f"{V1}/trees/{tree.uid}/inspections"
    recorded(inspector, tree, body())
    inspector.get(url)
    one = counted(lambda: inspector.get(url))
    for hour in (8, 9):
        recorded(inspector, tree, body(inspected_at=f"2026-11-25T0{hour}:30:00+00:00"))
    assert counted(lambda: inspector.get(url)) == one
