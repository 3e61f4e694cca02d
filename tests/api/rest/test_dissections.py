"""Dissections over HTTP: sent late or twice, cut by cut, refused by name, read with all that was made of them."""

import uuid
from typing import Any

import pytest

from inventory.history import SERVICE
from inventory.models import Tree
from inventory.services import remove_tree
from tests.support import build
from tests.support import dissections as make
from tests.support import inspections as looks
from tests.support.http import V1, as_role, pointers, problem
from tests.support.inspections import TODAY
from tests.support.query_counts import check, counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.calendar.today", lambda: TODAY)


def body(**members: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "felled_on": make.FELLED.isoformat(),
        "dissected_on": make.FELLED.isoformat(),
        "reason": "predicted_weakness",
        "cuts": make.faces(3),
    } | members


def test_a_dissection_is_recorded_once_and_read() -> None:
    tree, inspector, sent = build.tree(), as_role("inspector"), body()
    first = inspector.post(f"{V1}/trees/{tree.uid}/dissections", sent)
    again = inspector.post(f"{V1}/trees/{tree.uid}/dissections", sent)
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json()
    assert as_role("auditor").get(first["Location"]).json() == first.json()
    assert [cut["height_m"] for cut in first.json()["cuts"]] == pytest.approx([0.15, 0.3, 0.45])
    assert first.json()["results"][0]["version"] >= 1
    problem(inspector.post(f"{V1}/trees/{tree.uid}/dissections", sent | {"note": "other"}), 409, "conflict")


def test_a_cut_is_added_once() -> None:
    tree, inspector = build.tree(), as_role("inspector")
    where = inspector.post(f"{V1}/trees/{tree.uid}/dissections", body())["Location"]
    cut = make.face(height_m=2.0) | {"uid": str(uuid.uuid4())}
    assert [inspector.post(f"{where}/cuts", cut).status_code for _ in range(2)] == [201, 200]
    assert len(inspector.get(where).json()["cuts"]) == 4
    problem(inspector.post(f"{where}/cuts", cut | {"insects": True}), 409, "conflict")


def test_an_empty_member_says_what_a_missing_one_says() -> None:
    tree, inspector = build.tree(), as_role("inspector")
    cut = make.face(height_m=0.5) | {"note": "", "cracks": [], "girth_cm": None}
    answer = inspector.post(f"{V1}/trees/{tree.uid}/dissections", body(cuts=[cut]))
    assert answer.status_code == 201, answer.content
    assert set(answer.json()["cuts"][0]["measured"]) == set(make.face(height_m=0.5))


@pytest.mark.parametrize(
    ("cut", "pointer"),
    [
        (make.face(diameter_cm="wide"), "#/cuts/0/diameter_cm"),
        (make.face(colour="red"), "#/cuts/0/colour"),
        (make.face(girth_cm=200), "#/cuts/0/girth_cm"),
        (make.face(cavities=[{"share_percent": 120}]), "#/cuts/0/cavities/0/share_percent"),
    ],
)
def test_a_wrong_cut_is_named(cut: dict[str, Any], pointer: str) -> None:
    answer = as_role("inspector").post(f"{V1}/trees/{build.tree().uid}/dissections", body(cuts=[cut]))
    assert pointers(problem(answer, 400, "invalid")) == {pointer}


def test_felled_trees_that_ask_to_be_opened_are_listed() -> None:
    tree = build.tree()
    looks.inspected(tree, looks.rated("high", TODAY.replace(month=6)))
    remove_tree(SERVICE, tree, on=make.FELLED, reason="felled", stump_ground=False)
    (asked,) = as_role("public_works").get(f"{V1}/dissection-requests").json()["items"]
    assert (asked["tree"], asked["reason"]) == (str(tree.uid), "predicted_weakness")


def test_lists_of_dissections_make_no_query_a_row() -> None:
    tree, reader = build.tree(), as_role("auditor")
    addresses = {
        "dissections": f"{V1}/dissections",
        "trees/{tree}/dissections": f"{V1}/trees/{tree.uid}/dissections",
        "dissection-requests": f"{V1}/dissection-requests",
    }

    def grow(number: int) -> None:
        make.dissected(tree, make.record(cuts=make.faces(2)))
        other: Tree = build.tree(number * 20 + 20)
        looks.inspected(other, looks.rated("high", TODAY.replace(month=6)))
        remove_tree(SERVICE, other, on=make.FELLED, reason="felled", stump_ground=False)

    grow(0)
    for url in addresses.values():
        assert reader.get(url).status_code == 200
    few = {name: counted(lambda url=url: reader.get(url)) for name, url in addresses.items()}
    for number in range(1, 4):
        grow(number)
    for name, url in addresses.items():
        assert counted(lambda url=url: reader.get(url)) == few[name], name
        check(f"GET {name} auditor", few[name])
