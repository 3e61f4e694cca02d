"""What was measured on one section, and the sound wall between the readings: linear over azimuth, never beyond them."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from .integrals import Floats
from .outline import Outline

METHOD: Final = "wall_linear_over_azimuth"
VERSION: Final = 1


@dataclass(frozen=True)
class Reading:
    """Sound wood along the ray from the surface (without bark) to the outline's centroid, in cm.

    A wall beyond the centre is kept as it is. `void_to_cm`: depth where sound wood begins again; without it the void
    reaches the centre. `error_cm`: standard deviation of the reading.
    """

    azimuth_deg: float
    sound_wall_cm: float
    void_to_cm: float | None = None
    error_cm: float = 1.0


@dataclass(frozen=True)
class Opening:
    """A gap in the surface, of straight width there, cut with parallel sides toward the centre to a depth or void."""

    azimuth_deg: float
    width_cm: float
    depth_cm: float | None = None


@dataclass(frozen=True)
class Crack:
    """A radial crack, from `gap_to_edge_cm` inside the surface to `inner_radius_cm` from the centroid."""

    azimuth_deg: float
    gap_to_edge_cm: float
    inner_radius_cm: float


@dataclass(frozen=True)
class Section:
    """One section to compute: outline under bark and what is inside it. Voids in the outline's own coordinates."""

    outline: Outline
    readings: tuple[Reading, ...] = ()
    openings: tuple[Opening, ...] = ()
    voids: tuple[Polygon, ...] = ()
    cracks: tuple[Crack, ...] = ()
    height_m: float | None = None
    draws: int = 500
    seed: int = 1

    @property
    def azimuths_deg(self) -> Floats:
        """Azimuths of the readings, in their order."""
        return np.array([r.azimuth_deg for r in self.readings], np.float64)

    @property
    def walls_cm(self) -> Floats:
        """Sound walls of the readings, in their order."""
        return np.array([r.sound_wall_cm for r in self.readings], np.float64)


def weights(azimuths_deg: npt.ArrayLike, grid_deg: npt.ArrayLike) -> Floats:
    """Give the (grid, readings) matrix that interpolates linearly round the stem; one reading holds all round.

    >>> weights([0.0, 90.0], [45.0, 225.0]).round(3).tolist()
    [[0.5, 0.5], [0.5, 0.5]]
    """
    given = np.asarray(azimuths_deg, np.float64) % 360
    grid = np.asarray(grid_deg, np.float64) % 360
    count = len(given)
    if count == 1:
        return np.ones((len(grid), 1))
    order = np.argsort(given, kind="stable")
    knots = given[order]
    right = np.searchsorted(knots, grid, "right") % count
    left = (right - 1) % count
    gap = (knots[right] - knots[left]) % 360
    share = ((grid - knots[left]) % 360) / gap
    matrix = np.zeros((len(grid), count))
    rows = np.arange(len(grid))
    matrix[rows, order[left]] = 1 - share
    matrix[rows, order[right]] += share
    return matrix


@dataclass(frozen=True)
class Polar:
    """The void that readings tell of, by azimuth: wood to `reach`, void from `outer` in to `inner` (cm from centre).

    `outer` may be negative (sound beyond the centre); there is void where it exceeds `inner`.
    """

    grid_deg: Floats  # (g,), rising
    reach_cm: Floats  # (g,)
    outer_cm: Floats  # (..., g)
    inner_cm: Floats  # (..., g), never negative


def grid_deg(section: Section, steps: int = 720) -> Floats:
    """Give rising azimuths to work on: even steps, every reading, every vertex of a drawn outline.

    >>> from .outline import circle
    >>> grid_deg(Section(circle(80.0), (Reading(30.5, 8.0),)), 4).tolist()
    [0.0, 30.5, 90.0, 180.0, 270.0]
    """
    parts = [np.linspace(0.0, 360.0, steps, endpoint=False), section.azimuths_deg % 360]
    if section.outline.circle_radius_cm is None:
        x, y = section.outline.vertices_cm.T
        parts.append(np.degrees(np.arctan2(x, y)) % 360)
    return np.unique(np.concatenate(parts).round(9) % 360)


def polar(
    section: Section, grid: Floats, walls_cm: Floats | None = None, void_to_shift_cm: Floats | None = None
) -> Polar:
    """Lay out the void over a grid of azimuths, from the readings or from other walls (..., g) on that grid.

    `void_to_shift_cm` (..., readings) is added to the depths where sound wood begins again.
    """
    reach = section.outline.reach_cm(grid)
    between = weights(section.azimuths_deg, grid)
    if walls_cm is None:
        walls_cm = section.walls_cm @ between.T
    # Radius where sound wood begins again, from the centroid; negative beyond it; 0 where it was not measured.
    at_readings = section.outline.reach_cm(section.azimuths_deg)
    given = np.array([r.void_to_cm is not None for r in section.readings])
    depth = np.array([r.void_to_cm or 0.0 for r in section.readings])
    if void_to_shift_cm is not None:
        depth = depth + void_to_shift_cm
    again = np.where(given, at_readings - depth, 0.0)
    inner = np.maximum(again @ between.T, 0.0)
    outer = reach - np.maximum(walls_cm, 0.0)
    if np.any(again < 0):
        # A void measured past the centre is void on the far side too.
        opposite = weights(section.azimuths_deg, grid + 180)
        past = -(again @ opposite.T)
        outer = np.where(past > 0, np.maximum(outer, np.minimum(past, reach)), outer)
    return Polar(grid, reach, outer, inner)
