"""The map of a survey: a bounded sample of the places, in degrees whatever the file has, strays apart."""

import numpy as np
import pytest
from django.contrib.gis.geos import Point

from inventory.intake.layout import Layout
from inventory.intake.mapping import Column, Mapping
from inventory.intake.sample_map import POINTS, SampleMap, sample_map

DEGREES = Mapping(Layout(), (Column("lat", "latitude"), Column("lon", "longitude")))


def in_degrees(lat: list[float], lon: list[float]) -> SampleMap:
    found = sample_map(["lat", "lon"], [[f"{y:.7f}" for y in lat], [f"{x:.7f}" for x in lon]], DEGREES)
    assert found is not None
    return found


def test_a_large_sample_is_thinned_evenly() -> None:
    count = 5 * POINTS
    found = in_degrees([45 + n / 1e6 for n in range(count)], [-29.5] * count)
    assert len(found.points) == POINTS
    north = np.array([lat for _, lat in found.points])
    assert np.allclose(np.diff(north), 5e-6, atol=1e-6)
    assert (found.rows, found.placed, found.strays_in_all) == (count, count, 0)


def test_a_tree_far_from_all_others_is_a_stray_and_does_not_count_for_the_extent() -> None:
    lat = [45 + (n % 20) / 1000 for n in range(400)]
    lon = [-29.5 + (n // 20) / 1000 for n in range(400)]
    found = in_degrees([*lat, 48.0], [*lon, -29.5])
    assert found.strays == [(-29.5, 48.0)]
    # On the sphere a minute of latitude is a nautical mile: 0.019 degrees are 1.14 nm or 2.11 km; the same in
    # longitude is shorter by cos 45 degrees.
    assert found.height_km == pytest.approx(0.019 * 60 * 1.852, rel=0.002)
    assert found.width_km == pytest.approx(0.019 * 60 * 1.852 * 0.7071, rel=0.002)
    assert "far from all others: 1" in found.said()


def test_metres_become_degrees_under_the_system_of_the_mapping() -> None:
    points = [Point(-29.5 + n / 1000, 45.0, srid=4326) for n in range(10)]
    degrees = [point.coords for point in points]
    for point in points:
        point.transform(32626)
    mapping = Mapping(Layout(), (Column("x", "easting"), Column("y", "northing")), crs=32626)
    cells = [[f"{point.x:.4f}" for point in points], [f"{point.y:.4f}" for point in points]]
    found = sample_map(["x", "y"], cells, mapping)
    assert found is not None
    assert np.allclose(found.points, degrees, atol=1e-6)
    assert "EPSG:32626 (WGS 84 / UTM zone 26N)" in found.said()


def test_a_point_in_one_cell_is_read_in_its_order() -> None:
    mapping = Mapping(Layout(), (Column("at", "point", "", "lat_lon"),))
    found = sample_map(["at"], [["45.0, -29.5", "", "nonsense", "1e400, 3"]], mapping)
    assert found is not None
    assert (found.points, found.rows, found.placed) == ([(-29.5, 45.0)], 4, 1)


def test_what_is_no_place_is_counted_and_not_drawn() -> None:
    found = in_degrees([45.0, 45.001, 0.0, 95.0], [-29.5, -29.5, 0.0, 10.0])
    assert (len(found.points), found.impossible) == (2, 2)


def test_without_columns_of_places_there_is_no_map() -> None:
    assert sample_map(["a"], [["1"]], Mapping(Layout(), (Column("a", "key"),))) is None
    assert sample_map(["lat", "lon"], [["", "x"], ["", ""]], DEGREES) is None
