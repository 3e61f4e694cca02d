"""Cracks as radial slits of no width: which regions they part the wood into, and how far they may run on unseen."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon

from .integrals import Floats
from .outline import directions
from .readings import Crack, Section
from .voids import SLIVER, Region, Residual

METHOD: Final = "cracks_part_regions"
VERSION: Final = 1

# A tip this near to edge or void, as a share of the stem's radius there, has reached it.
REACHED: Final = 5e-4


@dataclass(frozen=True)
class Slit:
    """A crack on its ray: radii of both tips, of the wood's edge and of the void inside it (0: the centre)."""

    azimuth_deg: float
    inner_cm: float
    outer_cm: float
    edge_cm: float
    void_cm: float

    @property
    def _near_cm(self) -> float:
        return REACHED * self.edge_cm

    @property
    def at_edge(self) -> bool:
        """Whether the outer tip has reached the surface."""
        return self.outer_cm >= self.edge_cm - self._near_cm

    @property
    def at_void(self) -> bool:
        """Whether the inner tip has reached a void."""
        return self.void_cm > 0 and self.inner_cm <= self.void_cm + self._near_cm

    def run_on(self) -> "Slit":
        """Extend each loose tip to the nearer of edge and void (the centre where there is no void).

        >>> Slit(0.0, 32.0, 38.0, 40.0, 30.0).run_on()
        Slit(azimuth_deg=0.0, inner_cm=30.0, outer_cm=40.0, edge_cm=40.0, void_cm=30.0)
        """
        outer = self.edge_cm if self.edge_cm - self.outer_cm <= self.outer_cm - self.void_cm else self.outer_cm
        inner = self.void_cm if self.inner_cm - self.void_cm <= self.edge_cm - self.inner_cm else self.inner_cm
        return Slit(self.azimuth_deg, min(inner, self.inner_cm), outer, self.edge_cm, self.void_cm)

    def line(self) -> LineString:
        """The slit, drawn a little over edge and void so that it surely meets them."""
        outer = self.edge_cm * (1 + REACHED) if self.at_edge else self.outer_cm
        inner = self.inner_cm
        if self.at_void:
            inner = max(min(inner, self.void_cm - self._near_cm), 0.0)
        elif inner <= self._near_cm:
            inner = 0.0
        return LineString(np.outer([inner, outer], directions(self.azimuth_deg)))


def slit(crack: Crack, section: Section, missing: Region) -> Slit:
    """Place a crack on its ray: from `gap_to_edge_cm` inside the surface to its inner radius."""
    edge = float(section.outline.reach_cm(crack.azimuth_deg))
    outer, near = edge - crack.gap_to_edge_cm, REACHED * edge
    ray = LineString(np.outer([0.0, edge], directions(crack.azimuth_deg)))
    radii = np.hypot(*shapely.get_coordinates(shapely.intersection(ray, missing)).T)
    # Air that an opening lets in before the surface is an edge as well.
    outside, before = radii[radii >= outer + near], radii[radii < outer - near]
    edge = float(outside.min()) if outside.size else edge
    return Slit(crack.azimuth_deg, crack.inner_radius_cm, outer, edge, float(before.max()) if before.size else 0.0)


def slits(section: Section, found: Residual) -> list[Slit]:
    """Place all cracks of a section."""
    missing = shapely.union(found.decay, found.cuts)
    return [slit(crack, section, missing) for crack in section.cracks]


def pieces(wood: Region, cracks: list[Slit]) -> list[Polygon]:
    """Give the connected regions of the wood; a crack that ends inside the wood parts nothing.

    >>> halves = pieces(shapely.box(-1, -1, 1, 1), [Slit(0.0, 0.0, 1.0, 1.0, 0.0), Slit(180.0, 0.0, 1.0, 1.0, 0.0)])
    >>> [round(piece.area, 9) for piece in halves]
    [2.0, 2.0]
    """
    if not cracks:
        return [part for part in shapely.get_parts(wood) if isinstance(part, Polygon)]
    lines = shapely.union_all([shapely.boundary(wood), *(crack.line() for crack in cracks)])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.contains_properly(wood, shapely.point_on_surface(faces))
    large = shapely.area(faces) > SLIVER * wood.area
    return list(faces[inside & large])


def tips(cracks: list[Slit]) -> Floats:
    """Give both tips of each crack as [east, north], (k, 2, 2), for a picture."""
    return np.array([np.outer([c.inner_cm, c.outer_cm], directions(c.azimuth_deg)) for c in cracks]).reshape(-1, 2, 2)
