"""Trees near a planned project: against distances worked out apart from the database, and drawn by hand."""

import json
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt
import pytest
from django.contrib.gis.geos import GEOSGeometry, LineString, MultiLineString, Point, Polygon
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments import projects
from assessments.projects import trees_near
from inventory import services
from inventory.history import SERVICE
from inventory.models import Tree
from inventory.problems import Invalid
from inventory.statements import statement
from tests.support import build, inspections, orders

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]

METRIC = 32626
Place = tuple[float, float]
Shape = TypeVar("Shape", bound=GEOSGeometry)


def moved(shape: Shape, srid: int) -> Shape:
    """The shape in another CRS."""
    twin: Shape = shape.clone()
    twin.transform(srid)
    return twin


def degrees(shape: Shape) -> Shape:
    """A shape drawn in metres from the origin, in EPSG:4326."""
    return moved(shape, 4326)


ORIGIN = moved(Point(build.LON, build.LAT, srid=4326), METRIC)


def point(east: float, north: float) -> Point:
    return Point(ORIGIN.x + east, ORIGIN.y + north, srid=METRIC)


def line(*places: Place) -> GEOSGeometry:
    return degrees(LineString([point(*place).coords for place in places], srid=METRIC))


def polygon(*places: Place) -> GEOSGeometry:
    return degrees(Polygon([point(*place).coords for place in (*places, places[0])], srid=METRIC))


def tree(east: float, north: float, dbh_cm: float | None = 40.0, **fields: Any) -> Tree:
    size = services.Size(measured_on=orders.DAY, method="tape", dbh_cm=dbh_cm) if dbh_cm else None
    return services.add_tree(SERVICE, location=degrees(point(east, north)), tree_fields=fields, size=size)


def found(near: projects.Near) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(near.trees)
    return rows


def told(near: projects.Near) -> dict[str, float]:
    """Distance by tag."""
    return {row["tag"]: row["distance_m"] for row in found(near)}


# -- drawn by hand


def drawn(picture: str, step_m: float = 10) -> dict[str, Tree]:
    """One tree a letter; a column and a row are `step_m` apart, the first row is the northernmost."""
    lines = picture.strip("\n").splitlines()
    return {
        letter: tree(column * step_m, -row * step_m, tag=letter)
        for row, text in enumerate(lines)
        for column, letter in enumerate(text)
        if letter.isalpha()
    }


def test_a_trench_between_rows_of_trees() -> None:
    drawn(
        """
a.b.c
.....
d.e.f
"""
    )
    # The trench runs west to east 9 m south of the upper row, from below a to below b.
    near = trees_near(line((0, -9), (20, -9)), 11.01)
    assert told(near) == {"a": 9.0, "b": 9.0, "d": 11.0, "e": 11.0}
    assert (near.total, near.touched, near.unmeasured) == (4, 0, 0)
    assert near.length_m == pytest.approx(20, abs=0.01)


def test_a_pit_holds_a_tree_at_no_distance() -> None:
    drawn(
        """
a.b
.c.
d.e
"""
    )
    near = trees_near(polygon((5, -5), (15, -5), (15, -15), (5, -15)), 7.08)
    # The corners of the pit are 5 m east or west and 5 m north or south of the outer trees.
    assert told(near) == {"c": 0.0, "a": 7.07, "b": 7.07, "d": 7.07, "e": 7.07}
    assert near.area_m2 == pytest.approx(100, abs=0.05)
    assert trees_near(polygon((5, -5), (15, -5), (15, -15), (5, -15)), 7.06).total == 1


def test_a_hole_in_an_area_is_not_part_of_it() -> None:
    tree(50, 50)
    ring = [point(*place).coords for place in ((0, 0), (100, 0), (100, 100), (0, 100), (0, 0))]
    hole = [point(*place).coords for place in ((30, 30), (30, 70), (70, 70), (70, 30), (30, 30))]
    [row] = found(trees_near(degrees(Polygon(ring, hole, srid=METRIC)), 25))
    assert row["distance_m"] == 20.0


# -- against numpy


def to_segments(places: npt.NDArray[np.float64], ends: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Distance of (n, 2) places to the nearest of the segments between (m, 2) ends, in plain arithmetic."""
    a, b = ends[:-1], ends[1:]
    along = b - a
    length2 = np.einsum("mk,mk->m", along, along)
    share = np.einsum("nmk,mk->nm", places[:, None] - a, along) / np.where(length2 > 0, length2, 1)
    foot = a + np.clip(share, 0, 1)[..., None] * along
    nearest: npt.NDArray[np.float64] = np.hypot(*np.moveaxis(places[:, None] - foot, -1, 0)).min(axis=1)
    return nearest


def inside(places: npt.NDArray[np.float64], ring: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Whether places lie in a ring, by counting its edges to the east (even-odd rule)."""
    a, b = ring[:-1], ring[1:]
    x, y = places[:, :1], places[:, 1:]
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(b[:, 1] == a[:, 1], 1, b[:, 1] - a[:, 1])
    at_x = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    odd: npt.NDArray[np.bool_] = (crosses & (x < at_x)).sum(axis=1) % 2 == 1
    return odd


@pytest.fixture
def wood() -> dict[str, Place]:
    """100 trees strewn over 400 m by 400 m, by their uid."""
    chance = np.random.default_rng(7)
    places, sizes = chance.uniform(-200, 200, (100, 2)), chance.uniform(5, 150, 100)
    return {
        str(tree(*place, dbh_cm=dbh).uid): place for place, dbh in zip(places.tolist(), sizes.tolist(), strict=True)
    }


# Half a centimetre of rounding, and 10 mm by which a line of 700 m that is straight in degrees leaves its chord here:
# length squared x tan(latitude) / (8 x earth radius), plane geometry.
TOLERANCE_M = 0.016
PLACES = st.tuples(st.integers(-250, 250), st.integers(-250, 250))
LENIENT = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@LENIENT
@given(st.lists(PLACES, min_size=2, max_size=12, unique=True), st.floats(0, 60))
def test_distances_to_a_line_equal_plain_arithmetic(
    wood: dict[str, Place], places: list[Place], distance_m: float
) -> None:
    distances = to_segments(np.array(list(wood.values())), np.array(places, float))
    check(wood, distances, trees_near(line(*places), distance_m, limit=1000), distance_m)


@LENIENT
@given(st.integers(0, 2**32 - 1), st.integers(3, 40), st.floats(0, 60))
def test_distances_to_an_area_equal_plain_arithmetic(
    wood: dict[str, Place], seed: int, corners: int, distance_m: float
) -> None:
    chance = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    radii = chance.uniform(20, 220, corners)
    star = np.stack([radii * np.cos(angles), radii * np.sin(angles)], 1)
    ring = np.vstack([star, star[:1]])
    places = np.array(list(wood.values()))
    distances = np.where(inside(places, ring), 0, to_segments(places, ring))
    check(wood, distances, trees_near(polygon(*map(tuple, star)), distance_m, limit=1000), distance_m)


def check(wood: dict[str, Place], distances: npt.NDArray[np.float64], near: projects.Near, distance_m: float) -> None:
    """The same trees at the same distances, but for the tolerance."""
    by_uid = dict(zip(wood, distances, strict=True))
    rows = found(near)
    assert near.total == len(rows)
    for row in rows:
        assert row["distance_m"] == pytest.approx(by_uid[row["tree"]], abs=TOLERANCE_M)
    surely = {uid for uid, distance in by_uid.items() if distance < distance_m - TOLERANCE_M}
    perhaps = {uid for uid, distance in by_uid.items() if distance < distance_m + TOLERANCE_M}
    assert surely <= {row["tree"] for row in rows} <= perhaps
    assert [row["distance_m"] for row in rows] == sorted(row["distance_m"] for row in rows)


def test_a_long_line_is_straight_in_longitude_and_latitude() -> None:
    """RFC 7946, 3.1.1: between two positions a line is straight in degrees, so its middle is the mean of its ends."""
    west, east = (build.LON - 0.1, build.LAT + 0.05), (build.LON + 0.1, build.LAT + 0.05)
    middle = services.add_tree(SERVICE, location=Point(build.LON, build.LAT + 0.05, srid=4326))
    [row] = found(trees_near(LineString(west, east, srid=4326), 1))
    assert row["tree"] == str(middle.uid)
    assert row["distance_m"] <= 0.01
    # In the metric CRS the chord between the two ends passes the tree by several metres.
    chord = moved(LineString(west, east, srid=4326), METRIC)
    assert chord.distance(moved(middle.location, METRIC)) > 4


# -- what is told of each tree


def test_a_tree_is_told_with_its_species_size_and_risk() -> None:
    lime = tree(0, 3, 60, tag="7", species_id=build.species().pk)
    inspections.inspected(lime, inspections.rated("high", orders.DAY))
    unknown = tree(5, 4, None, species_text="Acer cf.")
    first, second = found(trees_near(line((0, 0), (10, 0)), 10))
    assert first["tree"] == str(lime.uid)
    assert (first["species"], first["common_name"]) == ("Tilia cordata", "small-leaved lime")
    assert (first["tag"], first["dbh_cm"], first["risk"], first["state"]) == ("7", 60, "high", "alive")
    assert (second["tree"], second["species"], second["risk"]) == (str(unknown.uid), "Acer cf.", "not_rated")
    assert (second["root_protection_radius_m"], second["radius_from"], second["zone_touched"]) == (None, None, None)


def test_a_size_class_enters_with_its_upper_end_and_says_so() -> None:
    one = tree(0, 5, None)
    size = services.Size(
        measured_on=orders.DAY, method="size_class", dbh_low_cm=33.02, dbh_high_cm=45.72
    )  # 13 to 18 inches
    services.measure(SERVICE, one, size)
    [row] = found(trees_near(line((0, 0), (10, 0)), 10))
    assert row["dbh_cm"] is None
    assert row["root_protection_radius_m"] == pytest.approx(12 * 0.4572, abs=0.001)
    assert (row["radius_from"], row["zone_touched"]) == ("upper_end_of_class", True)


def test_the_zone_is_touched_where_the_works_come_nearer_than_the_radius() -> None:
    tree(0, 6.05, 50)  # radius 6.0 m
    tree(5, 5.95, 50)
    touched = [row["zone_touched"] for row in found(trees_near(line((0, 0), (10, 0)), 10))]
    assert touched == [True, False]


def test_a_zone_that_is_touched_from_farther_away_than_asked_is_counted() -> None:
    tree(0, 14, 200)  # radius 15 m, the cap
    tree(5, 14, 100)  # radius 12 m
    near = trees_near(line((0, 0), (10, 0)), 2)
    assert (near.total, near.touched, near.touched_beyond) == (0, 0, 1)
    assert trees_near(line((0, 0), (10, 0)), 15).touched == 1


def test_only_standing_trees_are_told() -> None:
    gone, dead = tree(0, 1), tree(1, 1, state="dead")
    services.remove_tree(SERVICE, gone, on=orders.DAY, reason="storm", stump_ground=False)
    assert [row["tree"] for row in found(trees_near(line((0, 0), (10, 0)), 5))] == [str(dead.uid)]


def test_pages_follow_each_other_without_gap_or_repetition() -> None:
    for place in range(23):
        tree(place % 5, 1 + place // 5)
    shape, after, told = line((-5, 0), (15, 0)), projects.START, []
    while True:
        near = trees_near(shape, 20, limit=5, after=after)
        assert near.total == 23
        told += [row["tree"] for row in found(near)]
        if near.last is None:
            break
        after = near.last
    assert told == [row["tree"] for row in found(trees_near(shape, 20))]
    assert len(set(told)) == 23


# -- limits and cost


@pytest.mark.parametrize(
    ("shape", "distance_m", "pointer"),
    [
        (line((0, 0), (10, 0)), -1, "#/distance_m"),
        (line((0, 0), (10, 0)), 201, "#/distance_m"),
        (line((0, 0), (100_500, 0)), 10, "#/geometry"),
        (LineString((-170, -80), (170, 80), srid=4326), 10, "#/geometry"),
        (polygon((0, 0), (6000, 0), (6000, 6000), (0, 6000)), 10, "#/geometry"),
        (LineString((63, 0), (63.001, 0), srid=4326), 10, "#/geometry"),
    ],
    ids=["negative", "too far", "too long", "around the world", "too large", "where the CRS ends"],
)
def test_what_is_too_large_or_too_far_away_is_refused(shape: GEOSGeometry, distance_m: float, pointer: str) -> None:
    with pytest.raises(Invalid) as refused:
        trees_near(shape, distance_m)
    assert [error.pointer for error in refused.value.errors] == [pointer]
    assert Tree.objects.count() == 0  # the transaction goes on


def test_a_project_far_from_every_tree_is_taken_for_a_mistake() -> None:
    tree(0, 0)
    swapped = LineString((build.LAT, build.LON), (build.LAT, build.LON + 0.001), srid=4326)
    with pytest.raises(Invalid, match="longitude, latitude"):
        trees_near(swapped, 10)
    assert trees_near(line((5000, 0), (5010, 0)), 10).total == 0


def test_several_lines_are_one_project() -> None:
    tree(0, 1)
    tree(500, 1)
    both = MultiLineString(
        LineString(point(-5, 0).coords, point(5, 0).coords),
        LineString(point(495, 0).coords, point(505, 0).coords),
        srid=METRIC,
    )
    assert trees_near(degrees(both), 2).total == 2


def test_one_query_with_the_metric_index_answers_whatever_the_number_of_trees(wood: dict[str, Place]) -> None:
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE tree")
    shape = line((-200, -200), (200, 200))
    with CaptureQueriesContext(connection) as asked:
        trees_near(shape, 15)
    assert len([one for one in asked if "tree" in one["sql"]]) == 1
    with connection.cursor() as cursor:
        params = projects._params(shape, 15, 1000, projects.START, geojson=False)
        cursor.execute("EXPLAIN " + statement("assessments", "near_project"), params)
        plan = "\n".join(row[0] for row in cursor.fetchall())
    assert "Index Scan using tree_location_m" in plan
    assert "Seq Scan on tree t " not in plan  # t_1 joins the page, which the planner may do as it likes
