"""Between and beyond measured sections: the stem at any height, how far the decay column and each crack run on.

Between two sections outline and void change evenly with height, azimuth by azimuth. Beyond the last one the void's
radius falls away evenly to nothing over a length that nobody has seen: the trend of the last two sections where it
narrows, held within a default range (project's choice until the city's own dissections give a better one).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from assessments.methods.problems import MethodProblem

from .answer import Answer, assess
from .integrals import Floats
from .outline import Outline, circle, directions
from .readings import Crack, Opening, Reading, Section, polar
from .voids import decay_of, level_cm

METHOD: Final = "stem_between_sections"
VERSION: Final = 1

# Length over which the void's mean radius, or a crack's depth, falls to nothing, in multiples of it: low, best, high.
COLUMN_RUN_OUT: Final = (5.0, 15.0, 40.0)
CRACK_RUN_OUT: Final = (5.0, 20.0, 60.0)
_GRID: Final = np.arange(0.0, 360.0, 3.0)


@dataclass(frozen=True)
class Reach:
    """How far something runs on: heights above ground in m, `low` the nearest end; 0 where it reaches the ground."""

    low_m: float
    best_m: float
    high_m: float


@dataclass(frozen=True)
class Level:
    """The stem at one height: half widths by azimuth (cm), whether it was measured there, lies between or beyond."""

    height_m: float
    basis: str  # measured, between or beyond
    reach_cm: Floats  # (g,) on GRID_DEG
    void_cm: Floats  # (g,) outer radius of the void, 0 where there is none
    answer: Answer


@dataclass(frozen=True)
class Stem:
    """A stem from its sections: levels from the ground up, ends of the decay column and of each crack."""

    levels: tuple[Level, ...]
    column_bottom: Reach | None
    column_top: Reach | None
    cracks: tuple[Crack, ...]
    crack_radii_cm: tuple[float, ...]  # the middle of each crack, from the centroid
    crack_bottoms: tuple[Reach, ...]
    crack_tops: tuple[Reach, ...]
    notes: tuple[str, ...]


GRID_DEG: Final = _GRID


def along(sections: Sequence[Section], heights_m: Sequence[float]) -> Stem:
    """Compute a stem at the measured heights and at others. Raises MethodProblem without a height or for one twice.

    >>> from .outline import circle
    >>> low = Section(circle(80.0), (Reading(0.0, 15.0),), height_m=1.0, draws=0)
    >>> high = Section(circle(60.0), (Reading(0.0, 15.0),), height_m=3.0, draws=0)
    >>> round(along([low, high], [2.0]).levels[1].answer.t_over_r, 3)
    0.429
    """
    ordered = _ordered(sections)
    wanted = sorted({*(s.height_m or 0.0 for s in ordered), *heights_m})
    levels = tuple(_level(ordered, height) for height in wanted)
    ends = [_column(ordered, up) for up in (False, True)]
    cracks = _all_cracks(ordered)
    bottoms, tops = (tuple(_crack_end(ordered, crack, up) for crack in cracks) for up in (False, True))
    notes = (
        "Between sections outline and void change evenly with height; nobody has looked there.",
        "The ends of decay column and cracks are estimates; cracks seen outside often taper towards the ground.",
    )
    radii = tuple(_middle_cm(ordered, crack) for crack in cracks)
    return Stem(levels, ends[0], ends[1], cracks, radii, bottoms, tops, notes)


def _middle_cm(ordered: list[Section], crack: Crack) -> float:
    section = next(s for s in ordered if crack in s.cracks)
    outer = float(section.outline.reach_cm(crack.azimuth_deg)) - crack.gap_to_edge_cm
    return (outer + crack.inner_radius_cm) / 2


def _ordered(sections: Sequence[Section]) -> list[Section]:
    if not sections:
        raise MethodProblem("/sections", "needs one section or more")
    for index, section in enumerate(sections):
        if section.height_m is None:
            raise MethodProblem(f"/sections/{index}/height_m", "is missing")
    ordered = sorted(sections, key=lambda s: s.height_m or 0.0)
    if len({s.height_m for s in ordered}) < len(ordered):
        raise MethodProblem("/sections", "has two sections at one height")
    return ordered


def _radii(section: Section) -> tuple[Floats, Floats, Floats]:
    """Reach of the wood, outer and inner radius of the void by azimuth; outer is kept negative beyond the centre."""
    reach = section.outline.reach_cm(_GRID)
    outer, inner = np.zeros_like(reach), np.zeros_like(reach)
    if section.readings:
        void = polar(section, _GRID)
        outer, inner = void.outer_cm, void.inner_cm
    if section.voids:
        near, far = _drawn(section, reach)
        inner = np.where(far > 0, np.where(outer > inner, np.minimum(inner, near), near), inner)
        outer = np.where(far > 0, np.maximum(outer, far), outer)
    return reach, outer, inner


def _drawn(section: Section, reach: Floats) -> tuple[Floats, Floats]:
    """Nearest and farthest point of the drawn voids on each ray; 0 and 0 where there is none."""
    ends = reach[:, None] * directions(_GRID)
    rays = shapely.linestrings(np.stack([np.zeros_like(ends), ends], 1))
    near, far = np.zeros_like(reach), np.zeros_like(reach)
    for index, met in enumerate(shapely.intersection(rays, shapely.union_all(list(section.voids)))):
        if not met.is_empty:
            radii = np.hypot(*shapely.get_coordinates(met).T)
            near[index], far[index] = radii.min(), radii.max()
    return near, far


def _level(ordered: list[Section], height: float) -> Level:
    heights = np.array([s.height_m for s in ordered])
    at = int(np.searchsorted(heights, height))
    if at < len(heights) and heights[at] == height:
        reach, outer, _ = _radii(ordered[at])
        return Level(height, "measured", reach, np.maximum(outer, 0), assess(ordered[at]))
    if 0 < at < len(heights):
        section, reach, outer = _between(ordered, ordered[at - 1], ordered[at], height)
        return Level(height, "between", reach, np.maximum(outer, 0), assess(section))
    section, reach, outer = _beyond(ordered, height, up=at > 0)
    return Level(height, "beyond", reach, np.maximum(outer, 0), assess(section))


def _between(ordered: list[Section], below: Section, above: Section, height: float) -> tuple[Section, Floats, Floats]:
    low, high = below.height_m or 0.0, above.height_m or 0.0
    share = (height - low) / (high - low)
    reach, outer, inner = (a + share * (b - a) for a, b in zip(_radii(below), _radii(above), strict=True))
    near = below if share <= 0.5 else above
    openings = _openings_between(below, above, share)
    return _section(ordered, near, (reach, outer, inner), openings, height), reach, outer


def _beyond(ordered: list[Section], height: float, *, up: bool) -> tuple[Section, Floats, Floats]:
    near = ordered[-1 if up else 0]
    reach, outer, inner = _radii(near)
    away, lengths = abs(height - (near.height_m or 0.0)), _run_out_m(ordered, up)
    left = max(1 - away / lengths[1], 0.0) if lengths else 0.0
    openings = tuple(_narrowed(opening, left) for opening in near.openings) if left > 0 else ()
    # Towards the middle of the void's own wall, so that a void beside the centre stays beside it.
    middle = np.where(inner > 0, (outer + inner) / 2, 0.0)
    outer, inner = (np.where(outer > 0, middle + left * (r - middle), r) for r in (outer, inner))
    return _section(ordered, near, (reach, outer, inner), openings, height), reach, outer


def _section(
    ordered: list[Section],
    near: Section,
    radii: tuple[Floats, Floats, Floats],
    openings: tuple[Opening, ...],
    height: float,
) -> Section:
    reach, outer, inner = radii
    # A round stem stays a true circle; otherwise the ring of its rays, counter-clockwise.
    even = float(reach[0]) if np.ptp(reach) < 1e-9 else None
    outline = circle(2 * even) if even else Outline(Polygon((reach[:, None] * directions(_GRID))[::-1]), (0.0, 0.0))
    readings = tuple(
        Reading(float(azimuth), float(full - far), float(full - back) if back > 0 else None, 0.0)
        for azimuth, full, far, back in zip(_GRID, reach, outer, inner, strict=True)
    )
    cracks = tuple(crack for crack in near.cracks if _runs_to(ordered, crack, height))
    bare = replace(near, outline=outline, readings=readings, openings=(), voids=())
    decay = decay_of(bare)
    kept = tuple(opening for opening in openings if level_cm(opening, bare, decay) is not None)
    return replace(
        near, outline=outline, readings=readings, openings=kept, cracks=cracks, voids=(), height_m=height, draws=0
    )


def _openings_between(below: Section, above: Section, share: float) -> tuple[Opening, ...]:
    """Openings of both sections, within 45 degrees, with the width between; one that only one has closes evenly."""
    found, used = [], set()
    for low in below.openings:
        turns = [(high.azimuth_deg - low.azimuth_deg + 180) % 360 - 180 for high in above.openings]
        near = [index for index, turn in enumerate(turns) if abs(turn) <= 45 and index not in used]
        if not near:
            found.append(_narrowed(low, 1 - share))
            continue
        used.add(near[0])
        width = low.width_cm + share * (above.openings[near[0]].width_cm - low.width_cm)
        found.append(replace(low, azimuth_deg=(low.azimuth_deg + share * turns[near[0]]) % 360, width_cm=width))
    found += [_narrowed(high, share) for index, high in enumerate(above.openings) if index not in used]
    return tuple(found)


def _narrowed(opening: Opening, left: float) -> Opening:
    return replace(opening, width_cm=max(opening.width_cm * left, 1e-3))


def _mean_void_cm(section: Section) -> float:
    return float(np.sqrt(np.mean(np.maximum(_radii(section)[1], 0) ** 2)))


def _column(ordered: list[Section], up: bool) -> Reach | None:
    """End of the decay column beyond the outermost section; None where that has no void."""
    lengths = _run_out_m(ordered, up)
    return _reach(ordered[-1 if up else 0].height_m or 0.0, lengths, up) if lengths else None


def _run_out_m(ordered: list[Section], up: bool) -> tuple[float, float, float] | None:
    """Low, best and high length over which the void falls away beyond the outermost section."""
    last = ordered[-1 if up else 0]
    radius = _mean_void_cm(last)
    if radius <= 0:
        return None
    low, best, high = (radius * factor / 100 for factor in COLUMN_RUN_OUT)
    if len(ordered) > 1:
        inner = ordered[-2 if up else 1]
        narrowing = (_mean_void_cm(inner) - radius) / abs((last.height_m or 0.0) - (inner.height_m or 0.0))
        if narrowing > 0:
            best = float(np.clip(radius / narrowing, low, high))
    return low, best, high


def _reach(height: float, lengths_m: tuple[float, ...], up: bool) -> Reach:
    ends = [height + length if up else max(height - length, 0.0) for length in lengths_m]
    return Reach(*ends)


def _all_cracks(ordered: list[Section]) -> tuple[Crack, ...]:
    """One for each azimuth, within 20 degrees: the same crack seen at several heights."""
    found: list[Crack] = []
    for crack in (c for s in ordered for c in s.cracks):
        if all(abs((crack.azimuth_deg - other.azimuth_deg + 180) % 360 - 180) > 20 for other in found):
            found.append(crack)
    return tuple(found)


def _seen(section: Section, crack: Crack) -> Crack | None:
    return next((c for c in section.cracks if abs((c.azimuth_deg - crack.azimuth_deg + 180) % 360 - 180) <= 20), None)


def _crack_end(ordered: list[Section], crack: Crack, up: bool) -> Reach:
    """End of a crack beyond the outermost section that shows it, but not past the next section that does not."""
    order = ordered if up else ordered[::-1]
    last = max(index for index, section in enumerate(order) if _seen(section, crack))
    section = order[last]
    found = _seen(section, crack) or crack
    reach = float(section.outline.reach_cm(found.azimuth_deg))
    depth = (reach - found.gap_to_edge_cm - found.inner_radius_cm) / 100
    lengths = tuple(depth * factor for factor in CRACK_RUN_OUT)
    if last + 1 < len(order):
        gap = abs((order[last + 1].height_m or 0.0) - (section.height_m or 0.0))
        lengths = tuple(min(length, gap) for length in lengths)
    return _reach(section.height_m or 0.0, lengths, up)


def _runs_to(ordered: list[Section], crack: Crack, height: float) -> bool:
    return _crack_end(ordered, crack, False).best_m <= height <= _crack_end(ordered, crack, True).best_m
