"""Intervals of the loss of section modulus: from the errors of the readings and from the unknown wall between them.

The same seed gives the same interval. Errors of diameter, bark and drawn shapes are not in it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from . import field
from .bounds import Bounds, bounds, worst_loss
from .cracks import slits
from .integrals import Floats
from .modulus import Bending
from .rays import Rays, least_modulus
from .readings import Opening, Polar, Section, polar
from .voids import residual

METHOD: Final = "loss_interval_by_draws"
VERSION: Final = 1

STEPS: Final = 120
# With cracks, drawn voids or several openings each draw is cut as polygons, about 2 ms for a plain one. So many at
# most, and fewer of an intricate section, so that no request takes long.
MOST_CUT_DRAWS: Final = 500
LEAST_CUT_DRAWS: Final = 40
_CUT_WORK: Final = 1_000_000
LEVELS: Final = (0.025, 0.10, 0.90, 0.975)


@dataclass(frozen=True)
class Interval:
    """Loss of section modulus in %: best estimate, 80 and 95 % intervals; low95 <= low <= best <= high <= high95."""

    best_estimate: float
    low: float
    high: float
    low95: float
    high95: float


def interval(section: Section, sound: Bending, best: Bounds) -> Interval:
    """Give the interval of the loss; its ends also span the pieces' composite action from full to none."""
    loss = worst_loss(best.reported, sound)[1]
    ends = (worst_loss(best.full, sound)[1], worst_loss(best.none, sound)[1])
    if not section.readings or not section.draws:
        return Interval(loss, min(loss, *ends), max(loss, *ends), min(loss, *ends), max(loss, *ends))
    lows, highs = _by_rays(section, sound, loss) if _simple(section) else _by_polygons(section, sound)
    low95, low = np.quantile(lows, LEVELS[:2])
    high, high95 = np.quantile(highs, LEVELS[2:])
    least, most = min(loss, *ends), max(loss, *ends)
    low, high = min(float(low), least), max(float(high), most)
    return Interval(loss, low, high, min(float(low95), low), max(float(high95), high))


def _simple(section: Section) -> bool:
    return not section.cracks and not section.voids and len(section.openings) <= 1


def _grid(section: Section) -> Floats:
    parts = [np.linspace(0.0, 360.0, STEPS, endpoint=False), section.azimuths_deg % 360]
    for opening in section.openings:
        reach = float(section.outline.reach_cm(opening.azimuth_deg))
        half = np.degrees(np.arcsin(min(opening.width_cm / 2 / reach, 1.0)))
        parts.append((opening.azimuth_deg + np.array([-half, 0.0, half])) % 360)
    return np.unique(np.concatenate(parts).round(9) % 360)


def drawn_voids(section: Section, grid: Floats) -> Polar:
    """Draw possible voids on a grid: `outer_cm` and `inner_cm` of shape (draws, g)."""
    size = section.outline.radius_cm
    errors = np.array([reading.error_cm for reading in section.readings])
    prepared = field.prepare(section.azimuths_deg, errors / size, grid, section.draws, section.seed)
    walls = prepared.draw(section.walls_cm / size) * size
    slips = np.random.default_rng((section.seed, 1)).standard_normal((section.draws, len(errors))) * errors
    return polar(section, grid, walls, slips)


def _by_rays(section: Section, sound: Bending, best_loss: float) -> tuple[Floats, Floats]:
    grid = _grid(section)
    corners = None if section.outline.circle_radius_cm else section.outline.vertices_cm
    opening: Opening | None = section.openings[0] if section.openings else None
    rays = Rays(grid, section.outline.reach_cm(grid), opening, corners)
    found = _loss(rays, drawn_voids(section, grid), sound)
    # The rays' own small error is the same in every draw: it is taken off.
    shift = best_loss - float(_loss(rays, polar(section, grid), sound))
    shifted = np.clip(found + shift, 0.0, 100.0)
    return shifted, shifted


def _loss(rays: Rays, void: Polar, sound: Bending) -> Floats:
    modulus, azimuth = least_modulus(rays, void)
    return np.asarray(100 * (1 - modulus / sound.modulus_cm3(azimuth)))


def _by_polygons(section: Section, sound: Bending) -> tuple[Floats, Floats]:
    grid = _grid(section)
    void = drawn_voids(section, grid)
    count = min(section.draws, _cut_draws(section))
    ends = np.array([_ends(section, sound, grid, void, draw) for draw in range(count)])
    return ends.min(1), ends.max(1)


def _cut_draws(section: Section) -> int:
    """How many draws are cut: the work of one grows with the points, and with what has to be cut along them."""
    points = STEPS + len(section.readings) + len(section.outline.vertices_cm) / 4
    points += sum(len(void.exterior.coords) for void in section.voids)
    work = points * (1 + len(section.cracks) + 2 * len(section.openings))
    return int(np.clip(_CUT_WORK / work, LEAST_CUT_DRAWS, MOST_CUT_DRAWS))


def _ends(section: Section, sound: Bending, grid: Floats, void: Polar, draw: int) -> tuple[float, float]:
    found = residual(section, Polar(grid, void.reach_cm, void.outer_cm[draw], void.inner_cm[draw]))
    if found.wood.is_empty:
        return 100.0, 100.0
    both = bounds(found, slits(section, found))
    return worst_loss(both.full, sound)[1], worst_loss(both.none, sound)[1]
