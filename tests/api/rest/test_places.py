"""Zones and sites by REST."""

from typing import Any

import pytest

from inventory.history import SERVICE
from inventory.models import Event, Site, Tree, Zone
from tests.support import build
from tests.support.http import V1, as_role, key, pointers, problem

pytestmark = pytest.mark.django_db


def square(half: float) -> dict[str, Any]:
    """A square around the middle of the city, `half` degrees each way."""
    west, south, east, north = build.LON - half, build.LAT - half, build.LON + half, build.LAT + half
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {"type": "Polygon", "coordinates": [ring]}


def test_a_new_zone_takes_the_trees_and_sites_inside(city: object) -> None:
    inside, outside = build.tree(0, 0), build.tree(900, 0)
    client = as_role("forester")
    answer = client.post(f"{V1}/zones", {"code": "M", "name": "Middle", "area": square(0.001)}, headers=key())
    assert answer.status_code == 201
    assert client.get(answer["Location"]).json() == answer.json()
    for tree, code in ((inside, "M"), (outside, None)):
        tree.refresh_from_db()
        assert (tree.zone.code if tree.zone else None) == code
    assert Site.objects.filter(zone__code="M").count() == 1


def test_a_moved_zone_lets_go_what_it_leaves_and_takes_what_it_reaches(city: object) -> None:
    zone = build.zone("M", half_m=50)
    left, reached = build.tree(0, 0), build.tree(300, 0)
    assert left.zone_id == zone.pk
    east = square(0.001)
    for position in east["coordinates"][0]:
        position[0] += 300 / 78_850
    client = as_role("forester")
    answer = client.patch(f"{V1}/zones/{zone.pk}", {"area": east}, headers={"If-Match": "*"})
    assert answer.status_code == 200
    assert dict(Tree.objects.values_list("pk", "zone_id")) == {left.pk: None, reached.pk: zone.pk}
    assert Event.objects.get(kind="zone.edited").data == {"zone": zone.pk, "fields": ["area"]}


def test_the_smaller_of_two_zones_wins(city: object) -> None:
    build.zone("L", half_m=1000)
    tree = build.tree()
    small = {"code": "S", "name": "Small", "area": square(0.001)}
    as_role("forester").post(f"{V1}/zones", small, headers=key())
    tree.refresh_from_db()
    assert tree.zone is not None
    assert tree.zone.code == "S"


def test_a_zone_edit_needs_the_version_it_was_made_to(city: object) -> None:
    zone = build.zone("M")
    client = as_role("forester")
    address = f"{V1}/zones/{zone.pk}"
    tag = client.get(address)["ETag"]
    assert client.patch(address, {"name": "One"}, headers={"If-Match": tag}).status_code == 200
    problem(client.patch(address, {"name": "Two"}, headers={"If-Match": tag}), 412, "stale")
    problem(client.patch(address, {"name": "Two"}), 428, "precondition-required")
    assert Zone.objects.get().name == "One"


def test_wrong_zones_are_refused(city: object) -> None:
    build.zone("M")
    client = as_role("forester")
    bow_tie = {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]}
    for body, status, places in (
        ({"code": "M", "name": "Again", "area": square(1)}, 409, set()),
        ({"code": "N", "name": "N", "area": bow_tie}, 400, {"#/area"}),
        ({"code": "N", "name": "N", "area": {"type": "Point", "coordinates": [0, 0]}}, 400, {"#/area/type"}),
        ({"code": "", "name": "N", "area": square(1)}, 400, {"#/code"}),
        ({"code": "N", "name": "N", "area": square(1), "occupancy": "crowded"}, 400, {"#/occupancy"}),
    ):
        answer = client.post(f"{V1}/zones", body, headers=key())
        assert pointers(problem(answer, status, "conflict" if status == 409 else "invalid")) == places
    assert Zone.objects.count() == 1


def test_a_site_is_edited_with_its_version_and_reason(city: object) -> None:
    tree = build.tree()
    assert tree.site is not None
    client = as_role("inspector")
    address = f"{V1}/sites/{tree.site.uid}"
    changes = {"street": "Quay Street", "strip_width_m": 3.048, "overhead_lines": "low_voltage"}
    answer = client.patch(f"{address}?units=us", changes, headers={"If-Match": client.get(address)["ETag"]})
    assert answer.status_code == 200
    assert {name: answer.json()[name] for name in changes} == changes
    assert answer.json()["strip_width_ft"] == 10.0
    problem(client.patch(address, changes, headers={"If-Match": '"1-000000000000"'}), 412, "stale")


def test_a_site_with_a_tree_is_not_declared_vacant(city: object) -> None:
    tree = build.tree()
    assert tree.site is not None
    client = as_role("inspector")
    for state in ("vacant", "unplantable"):
        answer = client.patch(f"{V1}/sites/{tree.site.uid}", {"state": state}, headers={"If-Match": "*"})
        problem(answer, 409, "conflict")
    with SERVICE.acting("a site of its own"):
        vacant = Site.objects.create(location=tree.location, state="vacant")
    answer = client.patch(f"{V1}/sites/{vacant.uid}", {"state": "unplantable"}, headers={"If-Match": "*"})
    assert (answer.status_code, answer.json()["state"]) == (200, "unplantable")
    assert [item["uid"] for item in client.get(f"{V1}/sites", {"state": "unplantable"}).json()["items"]] == [
        str(vacant.uid)
    ]
