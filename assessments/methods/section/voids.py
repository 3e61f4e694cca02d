"""What is missing from a section, as polygons: the void of the readings, drawn voids, openings; and what is left."""

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from .integrals import Floats
from .outline import directions
from .readings import Opening, Polar, Section, grid_deg, polar

METHOD: Final = "residual_section"
VERSION: Final = 1

Region: TypeAlias = Polygon | MultiPolygon

# Parts below this share of the stem are rounding, not wood.
SLIVER: Final = 1e-7
# Places across an opening taken at once, so that no drawing needs much memory.
_BLOCK: Final = 256


@dataclass(frozen=True)
class Residual:
    """Sound wood, the decay or void inside it and the cuts of the openings."""

    wood: Region
    decay: Region
    cuts: Region


def areas(region: shapely.Geometry, least_cm2: float = 0.0) -> Region:
    """Keep the areal parts of a geometry that are larger than `least_cm2`.

    >>> areas(shapely.GeometryCollection([shapely.Point(0, 0), shapely.box(0, 0, 1, 1)])).area
    1.0
    """
    parts = [p for p in shapely.get_parts(shapely.get_parts(region)) if isinstance(p, Polygon) and p.area > least_cm2]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def star(grid: Floats, radius: Floats) -> Region:
    """Make the area round the origin out to a radius by azimuth; none where the radius is 0 or less.

    >>> round(star(np.arange(0.0, 360.0), np.ones(360)).area, 3)
    3.141
    """
    there = radius > 0
    points = radius[:, None] * directions(grid)
    if there.all():
        return Polygon(points)
    if not there.any():
        return MultiPolygon()
    # Begin at a start of a run, so that no run goes over the end.
    first = int(np.flatnonzero(there & ~np.roll(there, 1))[0])
    order = np.roll(np.arange(len(grid)), -first)
    grid, radius, there, points = grid[order], radius[order], there[order], points[order]
    runs = np.split(np.arange(len(grid)), np.flatnonzero(np.diff(there.astype(np.int8))) + 1)
    fans = [Polygon([(0.0, 0.0), *points[run], (0.0, 0.0)]) for run in runs if there[run[0]] and len(run) > 1]
    return areas(shapely.union_all([shapely.make_valid(fan) for fan in fans]))


def _with_crossings(p: Polar) -> tuple[Floats, Floats, Floats]:
    """Add the azimuths where the void closes, so that its edge is drawn to the point and not to the next step."""
    gap = p.outer_cm - p.inner_cm
    after = np.roll(gap, -1)
    at = np.flatnonzero(gap * after < 0)
    share = gap[at] / (gap[at] - after[at])
    step = (np.roll(p.grid_deg, -1)[at] - p.grid_deg[at]) % 360
    azimuth = (p.grid_deg[at] + share * step) % 360
    radius = p.inner_cm[at] + share * (np.roll(p.inner_cm, -1)[at] - p.inner_cm[at])
    grid = np.concatenate([p.grid_deg, azimuth])
    order = np.argsort(grid, kind="stable")
    outer = np.concatenate([np.maximum(p.outer_cm, p.inner_cm), radius])
    return grid[order], outer[order], np.concatenate([p.inner_cm, radius])[order]


def measured_void(p: Polar) -> Region:
    """Make the void of the readings (outer_cm of one section, (g,))."""
    grid, outer, inner = _with_crossings(p)
    # A wall of nothing lets the void reach through the surface, not end on it.
    through = p.reach_cm.max() * 1e-6
    outer = np.where(np.isin(grid, p.grid_deg[p.outer_cm >= p.reach_cm - 1e-9]), outer + through, outer)
    void = star(grid, outer)
    return areas(shapely.difference(void, star(grid, inner))) if inner.any() else void


def level_cm(opening: Opening, section: Section, decay: Region) -> float | None:
    """How near the centre an opening is cut, along its azimuth; None where it has no depth and faces no void."""
    if opening.depth_cm is not None:
        return float(section.outline.reach_cm(opening.azimuth_deg)) - opening.depth_cm
    u = directions(opening.azimuth_deg)
    return near_side_cm(decay, u, np.array([u[1], -u[0]]), opening.width_cm / 2)


def strip(opening: Opening, section: Section, decay: Region) -> Region:
    """Cut one opening: parallel sides toward the centre, to its depth or to the void; empty where it finds neither."""
    level = level_cm(opening, section, decay)
    if level is None:
        return MultiPolygon()
    u, half = directions(opening.azimuth_deg), opening.width_cm / 2
    far = 2 * float(np.hypot(*section.outline.vertices_cm.T).max())
    box = shapely.intersection(_box(u, np.array([u[1], -u[0]]), half, level, far), section.outline.polygon)
    if opening.depth_cm is not None:
        return areas(box)
    left = shapely.get_parts(shapely.difference(box, decay))
    edge = section.outline.polygon.exterior
    return areas(shapely.union_all([part for part in left if part.distance(edge) < 1e-9]))


def near_side_cm(decay: Region, u: Floats, v: Floats, half: float) -> float | None:
    """Give the lowest level, along `u`, of the decay's side that an opening of half-width `half` faces, or None.

    >>> near_side_cm(shapely.box(-5, -5, 5, 5), np.array([0.0, 1.0]), np.array([1.0, 0.0]), 2.0)
    5.0
    """
    rings = [shapely.get_coordinates(p.exterior) for p in shapely.get_parts(decay)]
    if not rings:
        return None
    begin, end = (np.concatenate([ring[part] for ring in rings]) for part in (slice(None, -1), slice(1, None)))
    a, b, low, high = begin @ v, end @ v, begin @ u, end @ u
    # The facing side is piecewise linear: its lowest point is at a corner or at a side of the opening.
    at = np.concatenate([a[np.abs(a) < half], [-half, half]])
    edges = a, b, low, high
    blocks = [_facing(at[start : start + _BLOCK, None], *edges) for start in range(0, len(at), _BLOCK)]
    level = np.concatenate(blocks)
    facing = level[level > -np.inf]
    return float(facing.min()) if facing.size and facing.max() > 0 else None


def _facing(at: Floats, a: Floats, b: Floats, low: Floats, high: Floats) -> Floats:
    """The highest level at which each place (m, 1) across the opening meets an edge; -inf where it meets none."""
    crossed = (np.minimum(a, b) <= at) & (at <= np.maximum(a, b)) & (a != b)
    share = (at - a) / np.where(a == b, 1.0, b - a)
    return np.asarray(np.where(crossed, low + share * (high - low), -np.inf).max(1))


def _box(u: Floats, v: Floats, half: float, near: float, far: float) -> Polygon:
    return Polygon([near * u - half * v, near * u + half * v, far * u + half * v, far * u - half * v])


def decay_of(section: Section, p: Polar | None = None) -> Region:
    """Unite the void of the readings with the drawn ones."""
    found: list[Region] = list(section.voids)
    if section.readings:
        found.append(measured_void(p or polar(section, grid_deg(section))))
    if not found:
        return MultiPolygon()
    return areas(shapely.union_all(found), SLIVER * section.outline.area_cm2)


def residual(section: Section, p: Polar | None = None) -> Residual:
    """Cut voids and openings out of the outline; the wood may be empty.

    >>> from .outline import circle
    >>> round(residual(Section(circle(2.0))).wood.area, 3)
    3.142
    """
    decay = decay_of(section, p)
    cuts = [strip(opening, section, decay) for opening in section.openings]
    cut = areas(shapely.union_all(cuts)) if cuts else MultiPolygon()
    wood = shapely.difference(section.outline.polygon, shapely.union(decay, cut))
    kept = areas(wood, SLIVER * section.outline.area_cm2)
    return Residual(kept, areas(shapely.intersection(decay, section.outline.polygon)), cut)


def reaches_air(found: Residual) -> bool:
    """Whether any decay or void is open to the surface: not enclosed by one ring of wood."""
    enclosed = [Polygon(ring) for part in shapely.get_parts(found.wood) for ring in part.interiors]
    covered = shapely.union_all(enclosed)
    return bool(shapely.difference(found.decay, covered).area > 1e-6 * max(found.decay.area, 1e-12))
