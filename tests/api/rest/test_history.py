"""The history of a tree by REST: complete, attributed, field by field, across its tables."""

import uuid
from typing import Any

import pytest

from tests.support import build
from tests.support.http import V1, as_role, caller

pytestmark = pytest.mark.django_db


def acts(tree: Any, **query: str) -> list[dict[str, Any]]:
    answer = as_role("auditor").get(f"{V1}/trees/{tree.uid}/history", query)
    assert answer.status_code == 200, answer.content
    return list(answer.json()["items"])


def fields(act: dict[str, Any], noun: str) -> dict[str, tuple[Any, Any]]:
    (row,) = [row for row in act["rows"] if row["noun"] == noun]
    return {change["field"]: (change["before"], change["after"]) for change in row["fields_changed"]}


def test_every_act_tells_who_when_why_and_what(city: object) -> None:
    build.zone()
    oak = build.species("Quercus robur", family="Fagaceae")
    tree = build.tree(tag="T1")
    forester, inspector = build.user("forester", name="Fenna Orr"), build.user("inspector", name="Ines Marlow")
    desk, field = caller(forester), caller(inspector)
    edit = {"species_id": oak.pk, "why": "it is an oak"}
    desk.patch(f"{V1}/trees/{tree.uid}", edit, headers={"If-Match": "*"})
    assert tree.site is not None
    desk.patch(f"{V1}/sites/{tree.site.uid}", {"street": "Quay Street"}, headers={"If-Match": "*"})
    body = {"uid": str(uuid.uuid4()), "measured_on": "2026-05-04", "method": "tape", "dbh_cm": 50}
    measured = field.post(f"{V1}/trees/{tree.uid}/measurements", body)
    support = {"uid": str(uuid.uuid4()), "kind": "cable", "height_m": 9, "installed_on": "2026-04-01"}
    field.post(f"{V1}/trees/{tree.uid}/supports", support)

    installed, size, site, species, *added = acts(tree)
    assert [(act["who"], act["why"]) for act in (installed, size, site, species)] == [
        ("Ines Marlow", "support installed"),
        ("Ines Marlow", "tree measured"),
        ("Fenna Orr", "site edited"),
        ("Fenna Orr", "it is an oak"),
    ]
    assert {act["who"] for act in added} == {""}  # the service itself
    assert size["request"] == measured["X-Request-ID"]
    assert fields(species, "tree") == {"species": ("Tilia cordata", "Quercus robur")}
    assert fields(site, "site") == {"street": ("", "Quay Street")}
    assert fields(size, "tree")["dbh_cm"] == (40, 50)
    assert fields(size, "measurement")["dbh_cm"] == (None, 50)
    assert fields(installed, "support")["kind"] == (None, "cable")
    first = added[-1]
    assert fields(first, "tree")["tag"] == (None, "T1")
    assert fields(first, "tree")["location"][1]["coordinates"] == [build.LON, build.LAT]


def test_one_act_tells_one_change_of_a_row(city: object) -> None:
    build.zone()
    tree = build.tree()  # inserted, then given its zone, in one act
    (made,) = [act for act in acts(tree) if act["why"] == "tree added"]
    assert sorted(row["noun"] for row in made["rows"]) == ["site", "tree"]
    assert fields(made, "tree")["zone"] == (None, "Z1")


def test_another_trees_history_stays_out(city: object) -> None:
    tree, other = build.tree(0), build.tree(9)
    as_role("forester").patch(f"{V1}/trees/{other.uid}", {"note": "other"}, headers={"If-Match": "*"})
    assert "other" not in str(acts(tree))


def test_a_long_history_is_paged_without_gap_or_duplicate(city: object) -> None:
    tree = build.tree()
    forester = as_role("forester")
    for number in range(5):
        forester.patch(f"{V1}/trees/{tree.uid}", {"note": str(number), "why": f"w{number}"}, headers={"If-Match": "*"})
    whole = acts(tree)
    client, seen, link = as_role("auditor"), [], f"{V1}/trees/{tree.uid}/history?limit=2"
    while link:
        page = client.get(link).json()
        seen += page["items"]
        link = page["next"]
    assert seen == whole
    assert [act["why"] for act in whole[:5]] == ["w4", "w3", "w2", "w1", "w0"]
