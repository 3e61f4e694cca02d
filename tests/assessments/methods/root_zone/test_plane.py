"""The plane about the tree: against GDAL's own azimuthal equidistant projection, and its stated accuracy."""

import math

import numpy as np
import pytest
from django.contrib.gis.gdal import CoordTransform, SpatialReference
from django.contrib.gis.geos import Point

from assessments.methods.root_zone import plane

PLACES = [(-29.5, 45.0), (0.0, 0.0), (151.2, -33.9), (25.0, 69.9)]


@pytest.mark.parametrize("origin", PLACES)
@pytest.mark.parametrize(("reach_m", "most_m"), [(15, 1e-6), (1000, 1e-5), (10_000, 0.005)])
def test_positions_agree_with_proj(origin: tuple[float, float], reach_m: float, most_m: float) -> None:
    lon, lat = origin
    local = SpatialReference(f"+proj=aeqd +lat_0={lat} +lon_0={lon} +datum=WGS84 +units=m +type=crs")
    there = CoordTransform(SpatialReference("EPSG:4326"), local)
    for azimuth in range(0, 360, 30):
        dx, dy = (reach_m / 111_000 * part(math.radians(azimuth)) for part in (math.sin, math.cos))
        position = (lon + dx / math.cos(math.radians(lat)), lat + dy)
        point = Point(*position, srid=4326)
        point.transform(there)
        found = plane.metres_from(origin, [position])[0]
        assert found == pytest.approx([point.x, point.y], abs=most_m)


def test_what_is_far_is_told_on_either_side_of_the_earth() -> None:
    assert plane.far((-29.5, 45.0), [[-29.5, 45.1], [-29.5, 45.3], [150.5, -45.0]]).tolist() == [False, True, True]


def test_the_antimeridian_is_no_border() -> None:
    found = plane.metres_from((179.9999, -17.0), [[-179.9999, -17.0]])
    assert float(np.hypot(*found[0])) == pytest.approx(0.0002 * 111_320 * math.cos(math.radians(17)), rel=1e-3)
