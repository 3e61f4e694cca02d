"""Distances on the ground, against PostGIS' geodesics on the same ellipsoid."""

import numpy as np
import pytest
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake.merge import ground

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("lon", "lat"), [(-29.5, 45.0), (2.3, 48.85), (151.2, -33.9), (179.9999, 64.0), (0.0, 0.0)])
@pytest.mark.parametrize(("east", "north"), [(0.00002, 0.00003), (-0.004, 0.002), (0.03, -0.02)])
def test_an_offset_is_the_geodesic(lon: float, lat: float, east: float, north: float) -> None:
    to_lon = (lon + east + 180) % 360 - 180
    one, two = (np.array([value]) for value in (lon, lat)), (np.array([value]) for value in (to_lon, lat + north))
    metres = float(np.hypot(*ground.offset_m(*one, *two))[0])
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT ST_Distance(ST_MakePoint(%s, %s)::geography, ST_MakePoint(%s, %s)::geography, true)",
            [lon, lat, to_lon, lat + north],
        )
        assert metres == pytest.approx(cursor.fetchone()[0], rel=1e-5, abs=1e-4)


points = st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), max_size=20)


@given(points, points, st.integers(1, 9))
def test_near_finds_every_pair_and_no_other(one: list[tuple[int, int]], two: list[tuple[int, int]], far: int) -> None:
    sides = [ground.Places(*(np.array([p[axis] for p in some], float) for axis in (0, 1))) for some in (one, two)]
    pairs = ground.near(sides[0], sides[1], far + 0.5)
    told = set(zip(pairs.one.tolist(), pairs.two.tolist(), strict=True))
    assert told == {
        (i, j)
        for i, a in enumerate(one)
        for j, b in enumerate(two)
        if ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) <= (far + 0.5) ** 2
    }


def test_unknown_places_have_no_neighbours() -> None:
    places = ground.Places(np.array([0.0, np.nan]), np.array([0.0, np.nan]))
    pairs = ground.near(places, places, 5)
    assert (pairs.one.tolist(), pairs.two.tolist()) == ([0], [0])
