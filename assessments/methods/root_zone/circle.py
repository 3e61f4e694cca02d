"""Exact area of a circle about the origin inside polygons: closed form edge by edge, the circle stays a circle.

By Green's theorem each directed edge adds the signed area between it and the centre, cut to the circle: triangles
where the edge runs inside, sectors where it runs outside.
"""

from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

METHOD: Final = "circle_polygon_area"
VERSION: Final = 1

Floats = npt.NDArray[np.float64]


def area_inside(region: shapely.Geometry, radius: float) -> float:
    """Give the area of the circle about the origin inside a valid (multi)polygon; 0 where it has no area.

    >>> box = Polygon([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    >>> round(area_inside(box, 1.0), 12) == round(float(np.pi), 12)
    True
    """
    polygons = [part for part in shapely.get_parts(region) if isinstance(part, Polygon)]
    rings = [ring for polygon in polygons for ring in _rings(polygon)]
    return max(sum(_ring_area(ring, radius) for ring in rings), 0.0)


def _rings(polygon: Polygon) -> list[Floats]:
    """Outer rings against the clock, holes with it."""
    turned = shapely.orient_polygons(polygon)
    return [np.asarray(shapely.get_coordinates(ring)) for ring in (turned.exterior, *turned.interiors)]


def _ring_area(ring: Floats, radius: float) -> float:
    start, end = ring[:-1], ring[1:]
    way = end - start
    length2 = (way**2).sum(-1)
    keep = length2 > 0
    start, way, length2 = start[keep], way[keep], length2[keep]
    # Where the line of each edge meets the circle, as shares of the edge.
    half = -(start * way).sum(-1) / length2
    room = half**2 - ((start**2).sum(-1) - radius**2) / length2
    reach = np.sqrt(np.maximum(room, 0.0))
    enters = np.clip(np.where(room > 0, half - reach, 1.0), 0.0, 1.0)
    leaves = np.clip(np.where(room > 0, half + reach, 1.0), 0.0, 1.0)
    points = [start + share[:, None] * way for share in (np.zeros_like(half), enters, leaves, np.ones_like(half))]
    outside = _sector(points[0], points[1], radius) + _sector(points[2], points[3], radius)
    inside = _cross(points[1], points[2]) / 2
    return float((outside + inside).sum())


def _sector(a: Floats, b: Floats, radius: float) -> Floats:
    return np.asarray(radius**2 / 2 * np.arctan2(_cross(a, b), (a * b).sum(-1)))


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
