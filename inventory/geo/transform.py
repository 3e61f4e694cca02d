"""Coordinates of an allow-listed system to degrees and back, many at once, by GDAL and PROJ under integer numbers only.

PostGIS would do the same by the same library, but a check of a file works without a database; so GDAL is asked.
Where a country's grid shift file is not installed PROJ takes its best formula (a few metres for some old datums).
"""

import ctypes
import math
import struct
from functools import cache
from typing import Final

import numpy as np
from django.contrib.gis.gdal import CoordTransform, GDALException, OGRGeometry, SpatialReference
from django.contrib.gis.gdal.libgdal import lgdal
from numpy.typing import NDArray

from inventory.geo.crs import CONTINENTAL, WGS84, allowed

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]

# Below so many points a failing group is tried point by point.
_FEW: Final = 8
_AT_ONCE: Final = 50_000
_KM_PER_DEGREE: Final = 111.195


def to_degrees(x: Floats, y: Floats, srid: int) -> tuple[Floats, Floats]:
    """(longitude, latitude) in WGS 84 of eastings and northings; NaN where the system cannot say. Raises Invalid."""
    return _transform(x, y, allowed(srid), WGS84)


def from_degrees(lon: Floats, lat: Floats, srid: int) -> tuple[Floats, Floats]:
    """(easting, northing) of degrees in WGS 84; NaN where the system cannot say. Raises Invalid."""
    return _transform(lon, lat, WGS84, allowed(srid))


def taken_back(lon: Floats, lat: Floats, srid: int) -> tuple[Floats, Floats]:
    """The degrees that were taken for metres of a system and turned into degrees once more. Raises Invalid.

    `srid` is of the allow-list or of the systems of continents.
    """
    return _transform(lon, lat, WGS84, srid if srid in CONTINENTAL else allowed(srid))


@cache
def origin(srid: int) -> tuple[float, float]:
    """Longitude and latitude of the point 0, 0 of a system of the allow-list or of a continent; NaN where none."""
    zero = np.zeros(1)
    lon, lat = _transform(zero, zero, srid if srid in CONTINENTAL else allowed(srid), WGS84)
    return float(lon[0]), float(lat[0])


def _transform(x: Floats, y: Floats, source: int, target: int) -> tuple[Floats, Floats]:
    made = np.full((len(x), 2), math.nan)
    rows = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
    pairs = np.stack([x[rows], y[rows]], axis=1) if len(rows) else np.zeros((0, 2))
    if source == target:
        made[rows] = pairs
    else:
        for start in range(0, len(rows), _AT_ONCE):
            made[rows[start : start + _AT_ONCE]] = _moved(pairs[start : start + _AT_ONCE], source, target)
    made[~np.isfinite(made).all(axis=1)] = math.nan
    return made[:, 0].copy(), made[:, 1].copy()


def _moved(pairs: Floats, source: int, target: int) -> Floats:
    """One group; where PROJ refuses it, its halves, down to the points that are to blame."""
    try:
        return _line(pairs, source, target)
    except GDALException:
        if len(pairs) > _FEW:
            half = len(pairs) // 2
            return np.concatenate([_moved(pairs[:half], source, target), _moved(pairs[half:], source, target)])
        return np.concatenate([_alone(pair, source, target) for pair in pairs[:, None]])


def _alone(pair: Floats, source: int, target: int) -> Floats:
    try:
        return _line(np.repeat(pair, 2, axis=0), source, target)[:1]
    except GDALException:
        return np.full((1, 2), math.nan)


def _line(pairs: Floats, source: int, target: int) -> Floats:
    """All points as one line, so that one call moves them all."""
    if len(pairs) == 1:
        return _alone(pairs, source, target)
    head = struct.pack("<BII", 1, 2, len(pairs))
    line = OGRGeometry(memoryview(head + np.ascontiguousarray(pairs, "<f8").tobytes()))
    line.transform(_route(source, target))
    raw = bytes(line.wkb)[len(head) :]
    return np.frombuffer(raw, "<f8").reshape(-1, 2).copy()


@cache
def _route(source: int, target: int) -> CoordTransform:
    return CoordTransform(_system(source), _system(target))


@cache
def _system(srid: int) -> SpatialReference:
    return SpatialReference(f"ESRI:{srid}" if srid in CONTINENTAL else srid)


@cache
def area(srid: int) -> Box | None:
    """Where the system is meant to be used (west, south, east, north in degrees), as the EPSG dataset has it."""
    ask = lgdal.OSRGetAreaOfUse
    ask.restype = ctypes.c_int
    ask.argtypes = [ctypes.c_void_p, *[ctypes.POINTER(ctypes.c_double)] * 4, ctypes.POINTER(ctypes.c_char_p)]
    west, south, east, north = (ctypes.c_double() for _ in range(4))
    name = ctypes.c_char_p()
    known = ask(_system(allowed(srid)).ptr, west, south, east, north, name)
    if not known or west.value <= -1000:
        return None
    return west.value, south.value, east.value, north.value


@cache
def is_geographic(srid: int) -> bool:
    """Whether its coordinates are degrees."""
    return bool(_system(allowed(srid)).geographic)


def distortion(lon: float, lat: float, srid: int) -> float:
    """How much longer or shorter a kilometre is in a metric system than on the ground (0.01: one per cent)."""
    north, east = 1 / _KM_PER_DEGREE, 1 / (_KM_PER_DEGREE * max(0.01, math.cos(math.radians(lat))))
    x, y = from_degrees(np.array([lon, lon, lon + east]), np.array([lat, lat + north, lat]), srid)
    lengths = np.hypot(x[1:] - x[0], y[1:] - y[0]) / 1000
    return float(np.abs(lengths - 1).max()) if np.isfinite(lengths).all() else math.inf
