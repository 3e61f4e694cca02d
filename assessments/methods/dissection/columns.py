"""Columns of decay and cavity along the stem: their volume, their ends and where they are widest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from assessments.methods.section.along_stem import COLUMN_RUN_OUT, Reach

from .contract import Cut, area_cm2, circle_cm
from .tracks import run_out

METHOD: Final = "decay_columns_between_cuts"
VERSION: Final = 1

# Less of a face than this is a speck, not a column: project's choice.
LEAST_CM2: Final = 0.5


@dataclass(frozen=True)
class Column:
    """A column over neighbouring cuts. Ends as in Track; the volume runs to the best ends."""

    from_m: float  # the lowest and highest cut that show it
    to_m: float
    bottom: Reach
    top: Reach
    bottom_beyond: bool
    top_beyond: bool
    volume_m3: float
    widest_cm2: float
    widest_at_m: float


def void_cm2(cut: Cut) -> float:
    """Area of decay and cavities together on a face."""
    return area_cm2((*cut.decay, *cut.cavities), cut.section.outline.polygon)


def columns(cuts: Sequence[Cut]) -> tuple[Column, ...]:
    """Find the columns of cuts ordered from below; a cut without decay parts two columns."""
    areas = [void_cm2(cut) for cut in cuts]
    heights = [cut.height_m for cut in cuts]
    found, start = [], None
    for place, area in enumerate([*areas, 0.0]):
        if area > LEAST_CM2 and start is None:
            start = place
        elif area <= LEAST_CM2 and start is not None:
            found.append(_column(heights, areas, start, place - 1))
            start = None
    return tuple(found)


def _column(heights: list[float], areas: list[float], first: int, last: int) -> Column:
    bottom, below = _end(heights, areas, first, first + 1 if last > first else None, up=False)
    top, above = _end(heights, areas, last, last - 1 if last > first else None, up=True)
    inside = range(first, last + 1)
    volume = sum(_frustum(heights[b] - heights[a], areas[a], areas[b]) for a, b in pairwise(inside))
    volume += (heights[first] - bottom.best_m) * areas[first] / 3 + (top.best_m - heights[last]) * areas[last] / 3
    widest = max(inside, key=lambda place: areas[place])
    return Column(
        heights[first], heights[last], bottom, top, below, above, volume / 1e4, areas[widest], heights[widest]
    )


def _frustum(length_m: float, one_cm2: float, other_cm2: float) -> float:
    return length_m * (one_cm2 + other_cm2 + math.sqrt(one_cm2 * other_cm2)) / 3


def _end(heights: list[float], areas: list[float], last: int, inner: int | None, *, up: bool) -> tuple[Reach, bool]:
    radius = circle_cm(areas[last])
    narrowing = None
    if inner is not None:
        narrowing = (circle_cm(areas[inner]) - radius) / abs(heights[last] - heights[inner])
    outer = last + (1 if up else -1)
    following = heights[outer] if 0 <= outer < len(heights) else None
    return run_out(heights[last], radius, narrowing, tuple(radius * f for f in COLUMN_RUN_OUT), following, up)
