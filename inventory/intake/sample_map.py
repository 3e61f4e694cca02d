"""The places of a sample of rows, and how they were found: what a survey shows on its map."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from inventory.geo.crs import ALLOWED
from inventory.geo.transform import taken_back, to_degrees
from inventory.intake import neighbours
from inventory.intake.cells import number, point
from inventory.intake.mapping import Mapping
from inventory.intake.table import Bools, Floats

POINTS = 2_000
# Six decimals of a degree are a tenth of a metre.
DECIMALS = 6
MOST_STRAYS = 50


@dataclass(frozen=True)
class SampleMap:
    """`points` (longitude, latitude; at most POINTS, spread over the file) and `strays`, far from all others.

    `rows` were looked at, `placed` of them have a place; `strays_in_all` may be more than are listed.
    """

    crs: int
    rows: int
    placed: int
    points: list[tuple[float, float]]
    strays: list[tuple[float, float]]
    strays_in_all: int
    impossible: int
    width_km: float
    height_km: float

    def as_dict(self) -> dict[str, Any]:
        """As JSON."""
        return {**vars(self), "crs_name": ALLOWED.get(self.crs, ""), "said": self.said()}

    def said(self) -> str:
        """The extent and the strays in words."""
        strays = f"; far from all others: {self.strays_in_all:,}" if self.strays_in_all else ""
        impossible = f"; no place in degrees: {self.impossible:,}" if self.impossible else ""
        return (
            f"EPSG:{self.crs} ({ALLOWED.get(self.crs, '')}): {self.placed:,} of {self.rows:,} rows looked at have a "
            f"place; they reach over {self.width_km:.1f} km from west to east and {self.height_km:.1f} km from south "
            f"to north{strays}{impossible}"
        )


def sample_map(headings: Sequence[str], cells: Sequence[list[str]], mapping: Mapping) -> SampleMap | None:
    """The places of a sample's rows under a mapping; None where it names none or none can be read."""
    found = _places(headings, cells, mapping)
    if found is None:
        return None
    lon, lat = found
    known = np.isfinite(lon) & np.isfinite(lat)
    possible = known & (np.abs(lon) <= 180) & (np.abs(lat) <= 90) & ~((lon == 0) & (lat == 0))
    if not possible.any():
        return None
    east, north = lon[possible], lat[possible]
    stray = ~np.isnan(neighbours.alone_km(east, north))
    width, height = _extent_km(east[~stray], north[~stray])
    return SampleMap(
        mapping.crs, len(lon), int(known.sum()), _spread(east, north, ~stray, POINTS),
        _spread(east, north, stray, MOST_STRAYS), int(stray.sum()), int((known & ~possible).sum()), width, height,
    )  # fmt: skip


def _places(headings: Sequence[str], cells: Sequence[list[str]], mapping: Mapping) -> tuple[Floats, Floats] | None:
    """Longitudes and latitudes, NaN where a row has none; None without columns of places."""
    roles = {column.role: column for column in mapping.columns}

    def values(role: str) -> Floats:
        found = (number(cell, mapping.decimal) for cell in cells[headings.index(roles[role].heading)])
        return np.fromiter(found, float)

    if "point" in roles:
        column = roles["point"]
        pairs = [point(cell, column.format) for cell in cells[headings.index(column.heading)]]
        x, y = np.array(pairs, float).reshape(-1, 2).T
    elif {"longitude", "latitude"} <= set(roles):
        x, y = values("longitude"), values("latitude")
    elif {"easting", "northing"} <= set(roles):
        x, y = values("easting"), values("northing")
    else:
        return None
    read = np.isfinite(x) & np.isfinite(y)
    lon, lat = to_degrees(np.where(read, x, np.nan), np.where(read, y, np.nan), mapping.crs)
    return taken_back(lon, lat, mapping.taken_for) if mapping.taken_for else (lon, lat)


def _spread(lon: Floats, lat: Floats, rows: Bools, most: int) -> list[tuple[float, float]]:
    """At most so many of these rows, evenly over the file."""
    chosen = np.flatnonzero(rows)
    if len(chosen) > most:
        chosen = chosen[np.arange(most) * len(chosen) // most]
    pairs = zip(lon[chosen].tolist(), lat[chosen].tolist(), strict=True)
    return [(round(x, DECIMALS), round(y, DECIMALS)) for x, y in pairs]


def _extent_km(lon: Floats, lat: Floats) -> tuple[float, float]:
    """From the westernmost to the easternmost point, and from south to north (km)."""
    if not len(lon):
        return 0.0, 0.0
    scale = neighbours.KM_PER_DEGREE
    across = scale * float(np.cos(np.radians(np.median(lat))))
    return round(float(np.ptp(lon)) * across, 3), round(float(np.ptp(lat)) * scale, 3)
