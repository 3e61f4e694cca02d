"""Distances on the ground between places in degrees, and who lies near whom."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from inventory.intake.table import Floats, Ints

# The WGS 84 ellipsoid (NIMA TR8350.2): semi-major axis in metres and first eccentricity squared.
AXIS_M = 6_378_137.0
ECCENTRICITY_2 = 6.694379990141e-3
POINTS_AT_ONCE = 100_000


def offset_m(lon: Floats, lat: Floats, to_lon: Floats, to_lat: Floats) -> tuple[Floats, Floats]:
    """Metres east and north from the first places to the second, by the radii of curvature between them.

    Right to 1e-5 of the distance over some kilometres.
    """
    middle = np.radians((lat + to_lat) / 2)
    bend = 1 - ECCENTRICITY_2 * np.sin(middle) ** 2
    across = AXIS_M / np.sqrt(bend) * np.cos(middle)
    along = AXIS_M * (1 - ECCENTRICITY_2) / bend**1.5
    turn = (to_lon - lon + 180) % 360 - 180
    return np.asarray(np.radians(turn) * across), np.asarray(np.radians(to_lat - lat) * along)


@dataclass(frozen=True)
class Places:
    """Places on a plane about the middle of the city (metres east and north)."""

    east: Floats
    north: Floats

    def __len__(self) -> int:
        return len(self.east)

    def at(self, rows: Ints) -> "Places":
        """Some of them."""
        return Places(self.east[rows], self.north[rows])

    def moved(self, east: float, north: float) -> "Places":
        """All of them, so far further."""
        return Places(self.east + east, self.north + north)


def on_plane(lon: Floats, lat: Floats, middle: tuple[float, float]) -> Places:
    """Places on a plane: good for neighbours, not for reporting distances. Unknown places are NaN."""
    known = np.isfinite(lon) & np.isfinite(lat)
    at = np.full(len(lon), middle[1])
    # One scale for the whole city, so that neighbours stay neighbours.
    along = np.degrees(1.0)
    scale = AXIS_M * np.cos(np.radians(middle[1])) / along
    east = np.where(known, ((lon - middle[0] + 180) % 360 - 180) * scale, np.nan)
    return Places(np.asarray(east), np.where(known, (lat - at) * AXIS_M / along, np.nan))


@dataclass(frozen=True)
class Pairs:
    """Candidates: `one[i]` and `two[i]` are places of the first and the second side, `metres[i]` apart."""

    one: Ints
    two: Ints
    metres: Floats

    def __len__(self) -> int:
        return len(self.one)

    def only(self, which: Ints | np.ndarray) -> "Pairs":
        """Some of them."""
        return Pairs(self.one[which], self.two[which], self.metres[which])


def near(one: Places, two: Places, metres: float) -> Pairs:
    """Every pair within so many metres; places that are not known have none."""
    parts = list(_near(one, two, metres))
    if not parts:
        return Pairs(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))
    return Pairs(
        np.concatenate([part.one for part in parts]),
        np.concatenate([part.two for part in parts]),
        np.concatenate([part.metres for part in parts]),
    )


def _near(one: Places, two: Places, metres: float) -> Iterator[Pairs]:
    known_1 = np.flatnonzero(np.isfinite(one.east))
    known_2 = np.flatnonzero(np.isfinite(two.east))
    if not len(known_1) or not len(known_2):
        return
    tree = shapely.STRtree(shapely.points(two.east[known_2], two.north[known_2]))
    for start in range(0, len(known_1), POINTS_AT_ONCE):
        rows = known_1[start : start + POINTS_AT_ONCE]
        found = tree.query(shapely.points(one.east[rows], one.north[rows]), predicate="dwithin", distance=metres)
        first, second = rows[found[0]], known_2[found[1]]
        apart = np.hypot(one.east[first] - two.east[second], one.north[first] - two.north[second])
        yield Pairs(first.astype(np.int64), second.astype(np.int64), np.asarray(apart))
