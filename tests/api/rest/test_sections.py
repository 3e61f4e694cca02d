"""Sections of inspections over HTTP: recorded, shown, refused by pointer, drawn, and told in the tree's history."""

import uuid
from typing import Any
from xml.etree import ElementTree

import pytest
import time_machine
from rest_framework.test import APIClient

from assessments import sections, services
from assessments.methods import section as method
from assessments.models import Inspection, Section, SectionResult
from inventory.models import Event, Tree
from tests.support import build
from tests.support import inspections as make
from tests.support import sections as measure
from tests.support.http import V1, as_role, caller, pointers, problem
from tests.support.query_counts import counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
CAVITY = {"kind": "cavity", "part": "stem", "height_m": 0.5, "measures": {"depth_cm": 10}}


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


def body(*measured: dict[str, Any], **members: Any) -> dict[str, Any]:
    sent = {"uid": str(uuid.uuid4()), "inspected_at": "2026-11-25T11:30:00+00:00", "level": "advanced"}
    return sent | {"findings": [CAVITY], "sections": list(measured)} | members


def test_a_section_is_recorded_shown_and_sent_again(inspector: APIClient, tree: Tree) -> None:
    sent = body({**measure.cut(), "uid": str(uuid.uuid4()), "finding": 0})
    url = f"{V1}/trees/{tree.uid}/inspections"
    first = inspector.post(url, sent)
    assert first.status_code == 201, first.content
    again = inspector.post(url, sent)
    assert (again.status_code, again.json()) == (200, first.json())
    (shown,) = inspector.get(first["Location"]).json()["sections"]
    assert shown["uid"] == sent["sections"][0]["uid"]
    assert shown["measured"] == measure.cut()
    assert shown["finding"] == first.json()["findings"][0]["uid"]
    (made,) = shown["results"]
    assert (made["method"], made["version"]) == (method.METHOD, method.VERSION)
    assert made["result"]["open"] is True
    assert made["result"]["rules"]["wagener"]["why"].startswith("does not apply because")
    assert shown["picture"] == f"{V1}/sections/{shown['uid']}/picture.svg"


def test_members_sent_as_null_count_as_not_sent(inspector: APIClient, tree: Tree) -> None:
    blank: dict[str, Any] = {"girth_cm": None, "outline_cm": None, "finding": None, "uid": None}
    readings = [{"azimuth_deg": 0, "sound_wall_cm": 12, "void_to_cm": None, "method": None}]
    answer = inspector.post(f"{V1}/trees/{tree.uid}/inspections", body(measure.measured(**blank, readings=readings)))
    assert answer.status_code == 201, answer.content
    assert set(answer.json()["sections"][0]["measured"]) == {"height_m", "diameter_cm", "bark_cm", "readings"}
    assert answer.json()["sections"][0]["measured"]["readings"] == [{"azimuth_deg": 0, "sound_wall_cm": 12}]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"readings": [{"azimuth_deg": 0, "sound_wall_cm": 9}] * 4}, "#/sections/0/readings/3/azimuth_deg"),
        ({"readings": [{"azimuth_deg": 0, "sound_wall_cm": "9"}]}, "#/sections/0/readings/0/sound_wall_cm"),
        ({"readings": [{"azimuth_deg": 0, "wall": 9}]}, "#/sections/0/readings/0/wall"),
        ({"readings": [{"azimuth_deg": 0, "sound_wall_cm": 9, "method": "x"}]}, "#/sections/0/readings/0/method"),
        ({"diameter_cm": -1}, "#/sections/0/diameter_cm"),
        ({"outline_cm": [[0, 0], [1, 1], [0]]}, "#/sections/0/outline_cm/2"),
        ({"height_m": None}, "#/sections/0/height_m"),
        ({"finding": 1}, "#/sections/0/finding"),
        ({"seed": -1}, "#/sections/0/seed"),
        ({"colour": "red"}, "#/sections/0/colour"),
    ],
)
def test_a_wrong_member_is_named_and_nothing_is_stored(
    changes: dict[str, Any], pointer: str, inspector: APIClient, tree: Tree
) -> None:
    events = Event.objects.count()
    url = f"{V1}/trees/{tree.uid}/inspections"
    for address in (url, f"{url}/preview"):
        assert pointer in pointers(problem(inspector.post(address, body(measure.measured(**changes))), 400, "invalid"))
    assert not Inspection.objects.exists()
    assert not Section.objects.exists()
    assert Event.objects.count() == events


def test_a_preview_computes_the_section_and_stores_nothing(inspector: APIClient, tree: Tree) -> None:
    url = f"{V1}/trees/{tree.uid}/inspections"
    shown = inspector.post(f"{url}/preview", body({**measure.measured(), "finding": 0})).json()
    assert shown["failure"]["category"] == "probable"
    assert "section at 0.4 m" in shown["failure"]["by_finding"][0]["reasons"][-1]["text"]
    stored = inspector.post(url, body({**measure.measured(), "finding": 0})).json()["sections"][0]["results"][0]
    assert shown["sections"] == [{"result": stored["result"], "draws": stored["draws"]}]


def test_the_uid_of_a_section_is_taken_once(inspector: APIClient, tree: Tree) -> None:
    uid, url = str(uuid.uuid4()), f"{V1}/trees/{tree.uid}/inspections"
    assert inspector.post(url, body({**measure.measured(), "uid": uid})).status_code == 201
    problem(inspector.post(url, body({**measure.measured(), "uid": uid})), 409, "conflict")
    assert Section.objects.count() == 1


def test_the_results_of_older_versions_stay_in_sight(
    inspector: APIClient, tree: Tree, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = body(measure.measured())
    before = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["sections"][0]["results"]
    monkeypatch.setattr(sections, "VERSION", method.VERSION + 1)
    services.recompute_sections()
    after = inspector.get(f"{V1}/inspections/{sent['uid']}").json()["sections"][0]["results"]
    assert [one["version"] for one in after] == [method.VERSION + 1, method.VERSION]
    assert after[1:] == before


def test_a_section_is_drawn_with_its_figures_in_words(inspector: APIClient, tree: Tree) -> None:
    sent = body(measure.cut())
    shown = inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent).json()["sections"][0]
    answer = inspector.get(shown["picture"])
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    words = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - our own text
    loss = shown["results"][0]["result"]["modulus"]["loss_percent"]
    assert f"80 % interval {loss['low']:.0f} to {loss['high']:.0f} %" in words
    assert "8 readings, 1 openings, 1 cracks" in words
    again = inspector.get(shown["picture"], headers={"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    problem(caller().get(shown["picture"]), 401, "not-signed-in")
    problem(as_role("contractor").get(shown["picture"]), 403, "not-allowed")
    problem(inspector.get(f"{V1}/sections/{uuid.uuid4()}/picture.svg"), 404, "not-found")


def test_the_history_of_the_tree_tells_of_the_section_and_of_what_was_measured(
    inspector: APIClient, tree: Tree
) -> None:
    inspector.post(f"{V1}/trees/{tree.uid}/inspections", body(measure.measured()))
    acts = as_role("auditor").get(f"{V1}/trees/{tree.uid}/history").json()["items"]
    (row,) = [row for act in acts for row in act["rows"] if row["noun"] == "section"]
    told = {field["field"]: field["after"] for field in row["fields_changed"]}
    assert (told["height_m"], told["measured"]) == (0.4, measure.measured())


def test_many_sections_are_recorded_and_read_in_as_many_queries_as_one(inspector: APIClient, tree: Tree) -> None:
    def record(*walls: float) -> tuple[int, int]:
        sent = body(*(measure.measured(wall) for wall in walls))
        written = counted(lambda: inspector.post(f"{V1}/trees/{tree.uid}/inspections", sent))
        return written, counted(lambda: inspector.get(f"{V1}/inspections/{sent['uid']}"))

    record(12)  # what is cached after the first request is cached for all
    assert record(12) == record(12, 15, 20)
    assert SectionResult.objects.count() == 5
