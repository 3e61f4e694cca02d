"""Geometry of the invented city in a plane: metres east and north of its market square, and the way to degrees."""

import math
from collections.abc import Sequence
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

# (n, 2): metres east and north of the market square.
Points: TypeAlias = NDArray[np.float64]
Place: TypeAlias = tuple[float, float]

# The open Atlantic: no real street is meant.
LON: Final = -29.5
LAT: Final = 45.0


def points(places: Sequence[Place]) -> Points:
    """Give places as an (n, 2) array."""
    return np.array(places, np.float64).reshape(-1, 2)


def degrees(place: Place) -> tuple[float, float]:
    """Give longitude and latitude in degrees, to seven decimals (a centimetre).

    Metres per degree by the usual series for the WGS 84 ellipsoid (common practice, from memory).

    >>> degrees((0.0, 0.0))
    (-29.5, 45.0)
    """
    east, north = place
    middle = math.radians(LAT + north / 222_264)
    per_lat = 111_132.92 - 559.82 * math.cos(2 * middle) + 1.175 * math.cos(4 * middle)
    lat = LAT + north / per_lat
    phi = math.radians(lat)
    per_lon = 111_412.84 * math.cos(phi) - 93.5 * math.cos(3 * phi) + 0.118 * math.cos(5 * phi)
    return round(LON + east / per_lon, 7), round(lat, 7)


def smooth(line: Points, times: int = 2) -> Points:
    """Round the corners of a line by cutting them; its two ends stay."""
    for _ in range(times):
        near, far = line[:-1] * 0.75 + line[1:] * 0.25, line[:-1] * 0.25 + line[1:] * 0.75
        cut = np.stack([near, far], axis=1).reshape(-1, 2)
        line = np.concatenate([line[:1], cut[1:-1], line[-1:]])
    return line


def length(line: Points) -> float:
    """Give the length of a line in metres."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def along(line: Points, at: NDArray[np.float64]) -> tuple[Points, Points]:
    """Give the points at distances along a line and the unit vectors to its left there, each (n, 2)."""
    steps = np.diff(line, axis=0)
    lengths = np.hypot(*steps.T)
    ends = np.cumsum(lengths)
    piece = np.minimum(np.searchsorted(ends, at, side="right"), len(steps) - 1)
    ahead = steps[piece] / lengths[piece, None]
    since = at - (ends[piece] - lengths[piece])
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    return line[piece] + ahead * since[:, None], left


def beside(line: Points, offset: float) -> Points:
    """Give the line `offset` metres to the left (right where negative), sampled every 12 m."""
    at = np.linspace(0, length(line) - 1e-6, max(2, int(length(line) / 12)))
    place, left = along(line, at)
    return place + left * offset


def inside(places: Points, polygon: Points) -> NDArray[np.bool_]:
    """Tell which points lie inside a polygon (its first point is not repeated)."""
    x, y = places[:, :1], places[:, 1:]
    x1, y1 = polygon.T
    x2, y2 = np.roll(polygon, -1, axis=0).T
    crosses = (y1 > y) != (y2 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        east = x < (x2 - x1) * (y - y1) / (y2 - y1) + x1
    return np.asarray((crosses & east).sum(axis=1) % 2 == 1)


def distance(places: Points, line: Points) -> NDArray[np.float64]:
    """Give the distance of each point from a line, in metres."""
    start, step = line[:-1], np.diff(line, axis=0)
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    offset = places[:, None, :] - start[None, :, :]
    share = np.clip((offset * step).sum(axis=2) / square, 0, 1)
    gap = offset - share[:, :, None] * step
    return np.asarray(np.hypot(gap[:, :, 0], gap[:, :, 1]).min(axis=1))


def closed(polygon: Points) -> Points:
    """Give a polygon as a line that comes back to its first point."""
    return np.concatenate([polygon, polygon[:1]])


def thinned(line: Points, every: int) -> Points:
    """Keep each n-th point of a line, and its last."""
    return np.concatenate([line[:-1][::every], line[-1:]])


def apart(one: Points, other: Points, gap_m: float) -> bool:
    """Tell whether the boxes around two sets of points lie further apart than a gap: a quick first look."""
    low, high = one.min(axis=0) - gap_m, one.max(axis=0) + gap_m
    return bool((other.min(axis=0) > high).any() or (other.max(axis=0) < low).any())


def kept_runs(line: Points, keep: NDArray[np.bool_]) -> list[Points]:
    """Cut a line into the runs of points that are kept, of two points or more."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], keep.astype(np.int8), [0]])))
    return [line[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= 2]
