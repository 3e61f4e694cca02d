"""Trees near a project through HTTP; the published protection radii as the interface gives them."""

import json
from typing import Any

import pytest
from django.http import HttpResponse

from inventory import services
from inventory.history import SERVICE
from inventory.models import Tree
from inventory.people import roles
from tests.support import build, orders
from tests.support.http import V1, as_role, pointers, problem

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def line(*positions: list[float]) -> dict[str, Any]:
    return {"type": "LineString", "coordinates": list(positions)}


# About 16 m west to east through the middle of the city.
TRENCH = line([build.LON - 0.0001, build.LAT], [build.LON + 0.0001, build.LAT])


def ask(role: str | None = "public_works", **fields: Any) -> HttpResponse:
    content = {"geometry": TRENCH, "distance_m": 20} | fields
    answer: HttpResponse = as_role(role).post(f"{V1}/near", content, format="json")
    return answer


def found(**fields: Any) -> dict[str, Any]:
    answer = ask(**fields)
    assert answer.status_code == 200, answer.content
    content: dict[str, Any] = json.loads(answer.content)
    return content


@pytest.mark.parametrize(
    ("stems_mm", "radius_m"),
    [
        ((500,), 6.000),
        ((1250,), 15.000),
        ((1400,), 15.000),
        ((300, 250, 200), 5.265),
        ((220, 200, 180, 150, 140), 4.843),
        ((150,) * 6, 4.409),
        ((120,) * 8, 4.073),
    ],
)
def test_the_radius_equals_that_of_bs_5837_2012(stems_mm: tuple[float, ...], radius_m: float) -> None:
    """BS 5837:2012, 4.6: 12 x the stem diameter, of several stems the combined one, at most 15 m."""
    tree = build.tree(0, 3, dbh_cm=None)
    size = services.Size(measured_on=orders.DAY, method="tape", stems_cm=tuple(stem / 10 for stem in stems_mm))
    services.measure(SERVICE, tree, size)
    [row] = found()["trees"]
    assert row["root_protection_radius_m"] == pytest.approx(radius_m, abs=0.001)
    assert row["radius_from"] == "dbh"
    assert row["zone_touched"] is True


def test_the_answer_says_how_many_by_which_method_and_with_which_caution() -> None:
    build.tree(0, 3)
    build.tree(0, 12, dbh_cm=None)
    build.tree(0, 40)
    answer = found()
    assert (answer["total"], answer["touched"], answer["unmeasured"], answer["touched_beyond"]) == (2, 1, 1, 0)
    assert answer["method"]["name"] == "bs5837_2012"
    assert answer["method"]["reference"].startswith("BS 5837:2012")
    assert any("1.5 m above ground" in line for line in answer["method"]["validity"])
    assert "arborist" in answer["caution"]
    assert answer["next"] is None
    assert answer["project_length_m"] == pytest.approx(15.8, abs=0.1)


def test_the_same_as_geojson() -> None:
    tree = build.tree(0, 3)
    answer = ask(output="geojson")
    assert answer["Content-Type"] == "application/geo+json"
    content = json.loads(answer.content)
    assert content["type"] == "FeatureCollection"
    assert content["total"] == 1
    [feature] = content["features"]
    assert (feature["type"], feature["id"]) == ("Feature", str(tree.uid))
    assert feature["geometry"]["coordinates"] == pytest.approx([tree.location.x, tree.location.y], abs=5.1e-8)
    [row] = found()["trees"]
    assert feature["properties"] == row


def test_pages_are_followed_by_their_cursor() -> None:
    trees = {str(build.tree(0, north).uid) for north in range(1, 8)}
    seen: list[str] = []
    cursor = None
    while True:
        page = found(limit=3, after=cursor)
        assert page["total"] == 7
        seen += [row["tree"] for row in page["trees"]]
        cursor = page["next"]
        if cursor is None:
            break
    assert len(seen) == 7
    assert set(seen) == trees


@pytest.mark.parametrize(
    ("fields", "places"),
    [
        ({"distance_m": 1000}, {"#/distance_m"}),
        ({"distance_m": "ten"}, {"#/distance_m"}),
        ({"output": "shapefile"}, {"#/output"}),
        ({"after": "nonsense"}, {"#/after"}),
        ({"limit": 0}, {"#/limit"}),
        ({"depth_m": 1}, {"#/depth_m"}),
        ({"geometry": {"type": "Point", "coordinates": [0, 0]}}, {"#/geometry/type"}),
        ({"geometry": {**TRENCH, "crs": {}}}, {"#/geometry/crs"}),
        (
            {"geometry": {"type": "LineString", "coordinates": [[500_000, 5_000_000], [0, 0]]}},
            {"#/geometry/coordinates/0"},
        ),
        ({"geometry": {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 1]]]}}, {"#/geometry/coordinates/0"}),
        ({"geometry": {"type": "LineString", "coordinates": [[0, 45], [9, 45]]}}, {"#/geometry"}),
    ],
    ids=["far", "word", "output", "cursor", "limit", "unknown", "point", "crs member", "metres", "open ring", "long"],
)
def test_a_wrong_question_names_the_place(fields: dict[str, Any], places: set[str]) -> None:
    assert pointers(problem(ask(**fields), 400, "invalid")) == places


def test_more_positions_than_are_taken_are_refused() -> None:
    many = [[build.LON + place * 1e-7, build.LAT] for place in range(10_001)]
    refused = problem(ask(geometry={"type": "LineString", "coordinates": many}), 400, "invalid")
    assert pointers(refused) == {"#/geometry"}


@pytest.mark.parametrize("role", [*roles.ROLES, None])
def test_the_question_is_open_to_the_roles_that_may(role: str | None) -> None:
    answer = ask(role)
    if role is None:
        problem(answer, 401, "not-signed-in")
    elif role in roles.ALLOWED["projects.ask"]:
        assert answer.status_code == 200
    else:
        problem(answer, 403, "not-allowed")


def test_nothing_is_stored() -> None:
    build.tree(0, 3)
    before = Tree.objects.values_list("pk", "version").get()
    found()
    assert Tree.objects.values_list("pk", "version").get() == before
