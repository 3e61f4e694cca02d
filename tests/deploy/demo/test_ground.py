"""The ground plan: zones that fit together, streets that can be told apart, places off the carriageways."""

import math
from itertools import combinations

import numpy as np
import pytest
from django.contrib.gis.geos import LineString, Point, Polygon

from deploy.demo import ground, places, plane, streets
from deploy.demo.city import City

MOST_FROM_STREET_M = 18.0


def _polygon(code: str) -> Polygon:
    corners = ground.zone(code).polygon.tolist()
    return Polygon([*corners, corners[0]])


def test_the_zones_do_not_overlap() -> None:
    for one, other in combinations([zone.code for zone in ground.ZONES], 2):
        shared = _polygon(one).intersection(_polygon(other)).area
        assert shared == pytest.approx(0.0, abs=1e-6), (one, other)


def test_the_zones_cover_the_city_without_a_gap() -> None:
    edges = ("edge_w", "edge_nw", "edge_n", "edge_ne", "edge_e", "edge_river", "edge_se", "edge_s", "edge_sw")
    outline = [node for name in edges for node in ground.edge(name).tolist()]
    city = Polygon([*outline, outline[0]])
    assert sum(_polygon(zone.code).area for zone in ground.ZONES) == pytest.approx(city.area)


def test_zones_and_streets_have_names_of_their_own() -> None:
    names = [street.name for street in streets.every_street()]
    assert len(names) == len(set(names)) > 100
    assert len({zone.code for zone in ground.ZONES}) == len({zone.name for zone in ground.ZONES}) == 10


def test_a_degree_is_as_long_as_on_the_ellipsoid() -> None:
    # WGS 84 at 45 degrees north: 111,131.8 m a degree of latitude, 78,846.8 m of longitude (standard tables).
    lon, lat = plane.degrees((788.468, 1111.318))
    assert lat == pytest.approx(45.01, abs=2e-6)
    assert lon == pytest.approx(-29.49, abs=3e-6)


def test_the_distance_from_a_line_is_that_of_geos() -> None:
    line = plane.smooth(plane.points([(0, 0), (40, 90), (130, 70), (150, -20)]))
    spots = plane.points([(10, 10), (60, 120), (200, 0), (75, 75)])
    expected = [LineString(line.tolist()).distance(Point(*spot)) for spot in spots.tolist()]
    assert plane.distance(spots, line).tolist() == pytest.approx(expected)


def test_every_place_lies_in_the_zone_it_names(harrowmere: City) -> None:
    for zone in ground.ZONES:
        spots = plane.points([(spot.east, spot.north) for spot in harrowmere.spots if spot.zone == zone.code])
        assert len(spots) > 100
        assert plane.inside(spots, zone.polygon).all()


def test_every_street_place_is_beside_its_street_and_off_the_carriageway(harrowmere: City) -> None:
    lines = {street.name: street for street in streets.every_street()}
    for name in {spot.street for spot in harrowmere.spots if spot.street}:
        spots = plane.points([(spot.east, spot.north) for spot in harrowmere.spots if spot.street == name])
        away = plane.distance(spots, lines[name].line)
        assert away.max() < MOST_FROM_STREET_M, name
        assert away.min() > lines[name].of_kind.half_m, name


def test_places_free_of_a_street_stand_in_their_green(harrowmere: City) -> None:
    for green in ground.GREENS:
        spots = [spot for spot in harrowmere.spots if spot.place == green.name]
        assert len(spots) > 20
        assert plane.inside(plane.points([(s.east, s.north) for s in spots]), green.outline).all()


def test_no_two_places_are_closer_than_the_plan_allows(harrowmere: City) -> None:
    where = np.array([(spot.east, spot.north) for spot in harrowmere.spots])
    order = np.argsort(where[:, 0])
    where = where[order]
    closest = math.inf
    for step in range(1, 60):
        gap = np.hypot(*(where[step:] - where[:-step]).T)
        closest = min(closest, float(gap.min()))
    assert closest > places.APART_M - 0.02
    # Sorted by easting, a pair closer than this would be found within so many steps.
    assert (where[60:, 0] - where[:-60, 0]).min() > 0


def test_house_numbers_are_odd_on_one_side_and_even_on_the_other(harrowmere: City) -> None:
    for spot in harrowmere.spots:
        if spot.house_number:
            assert int(spot.house_number) % 2 == (spot.side == "left")
