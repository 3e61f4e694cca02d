"""The stem's outline without bark: a circle from diameter or girth, or a drawn ring, centred on its area centroid."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from assessments.methods.problems import MethodProblem

from .integrals import Floats

METHOD: Final = "section_outline"
VERSION: Final = 1

# Area of the inscribed polygon: 1.3e-5 below the circle.
CIRCLE_VERTICES: Final = 720


def directions(azimuth_deg: npt.ArrayLike) -> Floats:
    """Give unit vectors [east, north] of azimuths clockwise from north, shape (..., 2).

    >>> directions(90.0).round(9).tolist()
    [1.0, 0.0]
    """
    b = np.radians(np.asarray(azimuth_deg, np.float64))
    return np.stack([np.sin(b), np.cos(b)], -1)


@dataclass(frozen=True)
class Outline:
    """Wood under bark, its area centroid at (0, 0). `centre_cm` is where that is in the coordinates of the request."""

    polygon: Polygon
    centre_cm: tuple[float, float]
    circle_radius_cm: float | None = None

    @property
    def area_cm2(self) -> float:
        """Area under bark: of the true circle where it is one."""
        return math.pi * self.circle_radius_cm**2 if self.circle_radius_cm else float(self.polygon.area)

    @property
    def radius_cm(self) -> float:
        """R = sqrt(area / pi)."""
        return math.sqrt(self.area_cm2 / math.pi)

    @property
    def vertices_cm(self) -> Floats:
        """The ring without its closing point, (n, 2)."""
        return np.asarray(shapely.get_coordinates(self.polygon)[:-1])

    def reach_cm(self, azimuth_deg: npt.ArrayLike) -> Floats:
        """Distance from the centroid to the surface toward each azimuth; the outermost where a ray meets several.

        >>> round(float(circle(80.0).reach_cm(123.4)), 9)
        40.0
        """
        azimuth = np.asarray(azimuth_deg, np.float64)
        if self.circle_radius_cm is not None:
            return np.full(azimuth.shape, self.circle_radius_cm)
        return reach(self.vertices_cm, azimuth)


def reach(ring: Floats, azimuth_deg: Floats) -> Floats:
    """Give the distance from (0, 0) to the outermost meeting of each ray with a ring (n, 2); 0 where it meets none.

    >>> reach(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]), np.array([0.0, 45.0])).round(4).tolist()
    [1.0, 1.4142]
    """
    towards = directions(azimuth_deg.ravel())  # (g, 2)
    edge = np.roll(ring, -1, 0) - ring  # (n, 2)
    # centre + r u = ring + s edge, solved for r and s by Cramer's rule.
    det = towards[:, None, 0] * edge[:, 1] - towards[:, None, 1] * edge[:, 0]
    r_top = ring[:, 0] * edge[:, 1] - ring[:, 1] * edge[:, 0]
    s_top = ring[:, 0] * towards[:, None, 1] - ring[:, 1] * towards[:, None, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        r, s = r_top[None, :] / det, s_top / det
    met = (det != 0) & (s >= -1e-9) & (s <= 1 + 1e-9) & (r > 0)
    return np.asarray(np.where(met, r, 0.0).max(1).reshape(azimuth_deg.shape))


def circle(diameter_cm: float, bark_cm: float = 0.0) -> Outline:
    """Make a round outline from the diameter over bark. Raises MethodProblem where the bark leaves no wood.

    >>> circle(80.0, 2.0).circle_radius_cm
    38.0
    """
    radius = diameter_cm / 2 - bark_cm
    if radius <= 0:
        raise MethodProblem("/bark_cm", "leaves no wood")
    turn = np.linspace(0.0, 360.0, CIRCLE_VERTICES, endpoint=False)
    return Outline(Polygon(radius * directions(-turn)), (0.0, 0.0), radius)


def drawn(points_cm: npt.ArrayLike, bark_cm: float = 0.0) -> Outline:
    """Make an outline from a ring drawn over bark, of either sense. Raises MethodProblem where it is none.

    >>> drawn([[0, 0], [20, 0], [20, 20], [0, 20]], 1.0).area_cm2
    324.0
    """
    polygon = Polygon(np.asarray(points_cm, np.float64))
    if not polygon.is_valid or polygon.area <= 0:
        raise MethodProblem("/outline_cm", "crosses or touches itself, or has no area")
    wood = polygon.buffer(-bark_cm, join_style="mitre") if bark_cm else polygon
    if not isinstance(wood, Polygon) or wood.is_empty or wood.interiors:
        raise MethodProblem("/bark_cm", "leaves no wood, or cuts the stem in two")
    wood = shapely.orient_polygons(wood)
    centre = wood.centroid
    ring = shapely.get_coordinates(wood) - (centre.x, centre.y)
    return Outline(Polygon(ring), (centre.x, centre.y))
