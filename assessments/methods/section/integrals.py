"""Polygon integrals: area, centroid and second moments of any shape, exactly, one ring or many at once.

Textbook mechanics (Green's theorem on the edges). Axes: x east, y north, cm.
"""

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiPolygon, Polygon

METHOD: Final = "polygon_integrals"
VERSION: Final = 1

Floats: TypeAlias = npt.NDArray[np.float64]


def ring_integrals(ring: npt.ArrayLike) -> Floats:
    """Give [A, S_x, S_y, I_xx, I_yy, I_xy] about the origin for rings of shape (..., n, 2), counter-clockwise positive.

    S_x is the integral of y, I_xx that of y squared (cm2, cm3, cm4 for cm).

    >>> ring_integrals([[0, 0], [2, 0], [2, 1], [0, 1]])[:3].tolist()
    [2.0, 1.0, 2.0]
    """
    points = np.asarray(ring, np.float64)
    x, y = points[..., 0], points[..., 1]
    xn, yn = np.roll(x, -1, -1), np.roll(y, -1, -1)
    cross = x * yn - xn * y
    terms = (
        np.full_like(cross, 0.5),
        (y + yn) / 6,
        (x + xn) / 6,
        (y * y + y * yn + yn * yn) / 12,
        (x * x + x * xn + xn * xn) / 12,
        (x * yn + 2 * x * y + 2 * xn * yn + xn * y) / 24,
    )
    return np.stack([(term * cross).sum(-1) for term in terms], -1)


def central(integrals: npt.ArrayLike) -> Floats:
    """Shift [A, S_x, S_y, I_xx, I_yy, I_xy] of shape (..., 6) to the centroid: [A, x_c, y_c, I_xx, I_yy, I_xy].

    >>> central(ring_integrals([[0, 0], [2, 0], [2, 1], [0, 1]])).round(4).tolist()
    [2.0, 1.0, 0.5, 0.1667, 0.6667, 0.0]
    """
    area, sx, sy, ixx, iyy, ixy = np.moveaxis(np.asarray(integrals, np.float64), -1, 0)
    x, y = sy / area, sx / area
    return np.stack([area, x, y, ixx - area * y * y, iyy - area * x * x, ixy - area * x * y], -1)


@dataclass(frozen=True)
class Shape:
    """One region, or several as one body: its integrals about its centroid, and its vertices (n, 2) in cm."""

    area_cm2: float
    centroid_cm: tuple[float, float]
    ixx_cm4: float
    iyy_cm4: float
    ixy_cm4: float
    vertices_cm: Floats

    @property
    def principal_cm4(self) -> tuple[float, float]:
        """The largest and the smallest second moment about an axis through the centroid."""
        mean, half = (self.ixx_cm4 + self.iyy_cm4) / 2, (self.iyy_cm4 - self.ixx_cm4) / 2
        radius = float(np.hypot(half, self.ixy_cm4))
        return mean + radius, mean - radius

    @property
    def stiffest_azimuth_deg(self) -> float:
        """Azimuth, in [0, 180), of the bending for which the second moment is largest."""
        angle = 0.5 * np.arctan2(2 * self.ixy_cm4, self.ixx_cm4 - self.iyy_cm4)
        return float(np.degrees(angle) % 180)

    def second_moment_cm4(self, azimuth_deg: npt.ArrayLike) -> Floats:
        """Second moment that resists bending toward an azimuth: integral of the squared distance along it."""
        b = np.radians(np.asarray(azimuth_deg, np.float64))
        s, c = np.sin(b), np.cos(b)
        return np.asarray(self.ixx_cm4 * c * c + self.iyy_cm4 * s * s + 2 * self.ixy_cm4 * s * c)


def shape_of(region: Polygon | MultiPolygon) -> Shape:
    """Integrate a polygon with holes, or several as one body.

    >>> shape_of(shapely.box(0, 0, 2, 1)).area_cm2
    2.0
    """
    turned = shapely.orient_polygons(region)
    polygons = [p for p in shapely.get_parts(turned) if not p.is_empty]
    rings = [shapely.get_coordinates(ring)[:-1] for p in polygons for ring in (p.exterior, *p.interiors)]
    # About a point of the body itself: far from the origin the shift would cancel digits.
    origin = rings[0].mean(0)
    total = np.sum([ring_integrals(ring - origin) for ring in rings], 0)
    area, x, y, ixx, iyy, ixy = central(total).tolist()
    return Shape(area, (x + origin[0], y + origin[1]), ixx, iyy, ixy, np.concatenate(rings))
