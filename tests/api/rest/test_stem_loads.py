"""Stem loads of inspections over HTTP: recorded, shown, refused by pointer, drawn, told in the tree's history."""

import uuid
from typing import Any
from xml.etree import ElementTree

import pytest
import time_machine
from rest_framework.test import APIClient

from assessments import services, stem_loads
from assessments.methods import stem_load as method
from assessments.models import Inspection, StemLoad
from inventory.models import Event, Tree
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support import stem_loads as loading
from tests.support.http import V1, as_role, caller, pointers, problem
from tests.support.query_counts import counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture(autouse=True)
def _today() -> Any:
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def inspector() -> APIClient:
    return as_role("inspector")


@pytest.fixture
def tree() -> Tree:
    return build.tree(dbh_cm=75)


def body(load: Any, **members: Any) -> dict[str, Any]:
    sent = {"uid": str(uuid.uuid4()), "inspected_at": "2026-11-25T11:30:00+00:00", "level": "advanced"}
    return sent | {"sections": [measure.measured()], "stem_load": load} | members


def test_a_stem_load_is_recorded_shown_and_sent_again(inspector: APIClient, tree: Tree) -> None:
    loading.windy()
    sent = body({**loading.measured(), "uid": str(uuid.uuid4()), "lean": None})
    url = f"{V1}/trees/{tree.uid}/inspections"
    first = inspector.post(url, sent)
    assert first.status_code == 201, first.content
    again = inspector.post(url, sent)
    assert (again.status_code, again.json()) == (200, first.json())
    shown = inspector.get(first["Location"]).json()["stem_load"]
    assert (shown["uid"], shown["measured"]) == (sent["stem_load"]["uid"], loading.measured())
    assert shown["filled"]["gust_climate"] == loading.CLIMATE
    (made,) = shown["results"]
    assert (made["method"], made["version"]) == (method.METHOD, method.VERSION)
    assert made["result"]["likelihood"]["gust_climate"] == loading.CLIMATE
    assert shown["picture"] == f"{V1}/inspections/{sent['uid']}/stem-load.svg"
    (listed,) = inspector.get(url).json()["items"]
    assert listed["stem_load"] == shown


def test_an_inspection_without_a_stem_load_shows_none(inspector: APIClient, tree: Tree) -> None:
    answer = inspector.post(f"{V1}/trees/{tree.uid}/inspections", body(None))
    assert (answer.status_code, answer.json()["stem_load"]) == (201, None)
    problem(inspector.get(f"{V1}/inspections/{answer.json()['uid']}/stem-load.svg"), 404, "not-found")


NO_BEST = {"height_m": 2.0, "loss_percent": {"low": 1, "high": 2}}
SECTION = {"height_m": 2.0, "section": measure.measured()}


@pytest.mark.parametrize(
    ("load", "pointer"),
    [
        ("crown", "#/stem_load"),
        ([], "#/stem_load"),
        (loading.measured(uid="x"), "#/stem_load/uid"),
        (loading.measured(colour="red"), "#/stem_load/colour"),
        (loading.measured(height_m="24"), "#/stem_load/height_m"),
        (loading.measured(height_m=10**400), "#/stem_load/height_m"),
        (loading.measured(species="Ti\u0000lia"), "#/stem_load/species"),
        (loading.measured(lean={"angle_deg": 90}), "#/stem_load/lean/angle_deg"),
        (loading.measured(sections=[SECTION]), "#/stem_load/sections/0/section"),
        (loading.measured(sections=[NO_BEST]), "#/stem_load/sections/0/loss_percent/best"),
        (loading.measured(heights_m=[[[[[[[1]]]]]]]), "#/stem_load/heights_m/0/0/0/0/0/0"),
        (loading.measured(heights_m=[1.0] * 100_000), "#/stem_load/heights_m/995"),
    ],
)  # fmt: skip
def test_a_wrong_member_is_named_and_nothing_is_stored(
    load: Any, pointer: str, inspector: APIClient, tree: Tree
) -> None:
    events = Event.objects.count()
    url = f"{V1}/trees/{tree.uid}/inspections"
    for address in (url, f"{url}/preview"):
        assert pointers(problem(inspector.post(address, body(load)), 400, "invalid")) == {pointer}
    assert not Inspection.objects.exists()
    assert Event.objects.count() == events


def test_a_preview_computes_the_load_and_stores_nothing(inspector: APIClient, tree: Tree) -> None:
    loading.windy()
    sent = body(loading.measured(), sections=[measure.measured(2.0)])
    url = f"{V1}/trees/{tree.uid}/inspections"
    shown = inspector.post(f"{url}/preview", sent).json()
    assert not StemLoad.objects.exists()
    assert (shown["failure"]["category"], shown["failure"]["basis"]) == ("probable", "mechanics")
    stored = inspector.post(url, sent).json()["stem_load"]
    assert shown["stem_load"] == {"filled": stored["filled"], "result": stored["results"][0]["result"]}


def test_the_uid_of_a_stem_load_is_taken_once(inspector: APIClient, tree: Tree) -> None:
    load, url = loading.measured(uid=str(uuid.uuid4())), f"{V1}/trees/{tree.uid}/inspections"
    assert inspector.post(url, body(load)).status_code == 201
    problem(inspector.post(url, body(load)), 409, "conflict")
    assert StemLoad.objects.count() == 1


def test_the_results_of_older_versions_stay_in_sight(
    inspector: APIClient, tree: Tree, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = body(loading.measured())
    before = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["stem_load"]["results"]
    monkeypatch.setattr(stem_loads, "VERSION", method.VERSION + 1)
    services.recompute_stored()
    after = inspector.get(f"{V1}/inspections/{sent['uid']}").json()["stem_load"]["results"]
    assert [one["version"] for one in after] == [method.VERSION + 1, method.VERSION]
    assert after[1:] == before


def test_the_stem_is_drawn_with_its_section_in_words(inspector: APIClient, tree: Tree) -> None:
    sent = body(loading.measured())
    shown = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["stem_load"]
    answer = inspector.get(shown["picture"])
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    words = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - our own text
    assert "At 0.4 m (measured): loss of section modulus" in words
    again = inspector.get(shown["picture"], headers={"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    problem(caller().get(shown["picture"]), 401, "not-signed-in")
    problem(as_role("contractor").get(shown["picture"]), 403, "not-allowed")


def test_a_stem_that_nobody_looked_into_is_not_drawn(inspector: APIClient, tree: Tree) -> None:
    sent = body(loading.measured(), sections=[])
    shown = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["stem_load"]
    assert shown["picture"] is None
    problem(inspector.get(f"{V1}/inspections/{sent['uid']}/stem-load.svg"), 404, "not-found")


def test_the_history_of_the_tree_tells_of_the_stem_load(inspector: APIClient, tree: Tree) -> None:
    inspector.post(f"{V1}/trees/{tree.uid}/inspections", body(loading.measured()))
    acts = as_role("auditor").get(f"{V1}/trees/{tree.uid}/history").json()["items"]
    (row,) = [row for act in acts for row in act["rows"] if row["noun"] == "stem_load"]
    told = {field["field"]: field["after"] for field in row["fields_changed"]}
    assert told["measured"] == loading.measured()


def test_many_inspections_with_stem_loads_are_read_in_as_many_queries_as_one(inspector: APIClient, tree: Tree) -> None:
    url = f"{V1}/trees/{tree.uid}/inspections"
    inspector.post(url, body(loading.measured()))
    inspector.get(url)  # what is cached after the first request is cached for all
    one = counted(lambda: inspector.get(url))
    for _ in range(3):
        assert inspector.post(url, body(loading.measured())).status_code == 201
    assert counted(lambda: inspector.get(url)) == one
    assert len(inspector.get(url).json()["items"]) == 4
