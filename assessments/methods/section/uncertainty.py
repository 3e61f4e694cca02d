"""Intervals of the loss of section modulus: from the errors of the readings and from the unknown wall between them.

The same seed gives the same interval. Errors of diameter, bark and drawn shapes are not in it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
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
VERSION: Final = 2

STEPS: Final = 120
# With cracks, drawn voids or several openings each draw is cut as polygons, about 2 ms for a plain one. So many at
# most, and fewer of an intricate section, so that no request takes long; the notes of the answer say how many.
MOST_CUT_DRAWS: Final = 250
LEAST_CUT_DRAWS: Final = 20
_CUT_WORK: Final = 250_000
# Drawn shapes are cut with fewer points, this far from those given, as a share of R.
_COARSE: Final = 1e-3
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
    lows, highs = _by_rays(section, sound, loss) if _simple(section) else _by_polygons(section, sound, ends)
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
    given = section.azimuths_deg % 360, errors / size, grid, section.walls_cm / size
    walls = field.draw_once(*given, section.draws, section.seed) * size
    slips = np.random.default_rng((section.seed, 1)).standard_normal((section.draws, len(errors))) * errors
    return polar(section, grid, walls, slips)


def _by_rays(section: Section, sound: Bending, best_loss: float) -> tuple[Floats, Floats]:
    grid, section = _grid(section), _coarse(section)
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


def _by_polygons(section: Section, sound: Bending, best: tuple[float, float]) -> tuple[Floats, Floats]:
    grid, coarse = _grid(section), replace(_coarse(section), draws=draws_of(section))
    void = drawn_voids(coarse, grid)
    found = np.array([_ends(coarse, sound, Polar(grid, void.reach_cm, *edges)) for edges in _each(void)])
    # The small error of the coarser shapes is the same in every draw: it is taken off.
    shift = np.subtract(best, _ends(coarse, sound, polar(coarse, grid)))
    shifted = np.clip(np.sort(found + shift, axis=1), 0.0, 100.0)
    return shifted[:, 0], shifted[:, 1]


def _each(void: Polar) -> Iterator[tuple[Floats, Floats]]:
    inner = np.broadcast_to(void.inner_cm, void.outer_cm.shape)
    return zip(void.outer_cm, inner, strict=True)


def draws_of(section: Section) -> int:
    """How many draws the interval of a section rests on: as asked, fewer where each is cut as polygons."""
    if not section.readings or _simple(section):
        return section.draws if section.readings else 0
    return min(section.draws, _cut_draws(_coarse(section)))


def _coarse(section: Section) -> Section:
    """The section with no more points in its outline and drawn voids than the cuts of a draw need."""
    far = _COARSE * section.outline.radius_cm
    outline = replace(section.outline, polygon=section.outline.polygon.simplify(far))
    voids = tuple(void.simplify(far) for void in section.voids)
    return replace(section, outline=outline, voids=voids)


def _cut_draws(section: Section) -> int:
    """How many draws are cut: the work of one grows with the points, and with what has to be cut along them."""
    points = STEPS + len(section.readings) + len(section.outline.vertices_cm)
    points += sum(len(void.exterior.coords) for void in section.voids)
    work = points * (1 + len(section.cracks) + 2 * len(section.openings))
    return int(np.clip(_CUT_WORK / work, LEAST_CUT_DRAWS, MOST_CUT_DRAWS))


def _ends(section: Section, sound: Bending, void: Polar) -> tuple[float, float]:
    """Loss of the pieces under full composite action and under none."""
    found = residual(section, void)
    if found.wood.is_empty:
        return 100.0, 100.0
    both = bounds(found, slits(section, found))
    return worst_loss(both.full, sound)[1], worst_loss(both.none, sound)[1]
