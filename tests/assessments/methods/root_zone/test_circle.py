"""The circle inside polygons: closed forms, and agreement with polygon clipping in the limit."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from assessments.methods.root_zone.circle import area_inside

RADII = st.floats(0.5, 15)
COORDINATES = st.floats(-30, 30)


def test_a_half_plane_through_the_centre_takes_half() -> None:
    assert area_inside(box(0, -50, 50, 50), 7.0) == pytest.approx(math.pi * 49 / 2, rel=1e-12)


def test_a_corner_at_the_centre_takes_a_quarter() -> None:
    assert area_inside(box(0, 0, 50, 50), 7.0) == pytest.approx(math.pi * 49 / 4, rel=1e-12)


def test_what_lies_inside_the_circle_counts_whole_and_what_lies_outside_not_at_all() -> None:
    assert area_inside(box(1, 1, 2, 3), 7.0) == pytest.approx(2.0, rel=1e-12)
    assert area_inside(box(8, 8, 9, 9), 7.0) == 0
    assert area_inside(Polygon(), 7.0) == 0


def test_a_hole_is_left_out() -> None:
    ring = box(-50, -50, 50, 50).difference(box(-1, -1, 1, 1))
    assert area_inside(ring, 7.0) == pytest.approx(math.pi * 49 - 4, rel=1e-12)


@given(RADII, COORDINATES, COORDINATES, st.floats(0.1, 40), st.floats(0.1, 40), st.floats(0, 360))
@settings(max_examples=60, deadline=None)
def test_it_is_the_limit_of_clipping_with_a_finer_and_finer_polygon(
    radius: float, x: float, y: float, width: float, height: float, turn: float
) -> None:
    shape = translate(rotate(box(0, 0, width, height), turn, origin=(0, 0)), x, y)
    fine = shapely.buffer(Point(0, 0), radius, quad_segs=4000)
    # The inscribed polygon is smaller than the circle by less than one part in ten million.
    assert area_inside(shape, radius) == pytest.approx(fine.intersection(shape).area, abs=1e-6 * radius**2)


@given(RADII, st.lists(st.tuples(COORDINATES, COORDINATES), min_size=3, max_size=8), st.floats(0, 360))
@settings(max_examples=60, deadline=None)
def test_turning_the_works_about_the_stem_changes_nothing(
    radius: float, points: list[tuple[float, float]], turn: float
) -> None:
    hull = shapely.convex_hull(shapely.MultiPoint(np.array(points)))
    if not isinstance(hull, Polygon) or hull.area < 1e-3:
        return
    turned = rotate(hull, turn, origin=(0, 0))
    assert area_inside(turned, radius) == pytest.approx(area_inside(hull, radius), abs=1e-7 * radius**2)
