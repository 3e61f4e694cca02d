"""In which coordinate reference system numbers may be: every one of the allow-list under which they are a city.

What decides among several is other evidence: points of the same rows, the municipality's own metric system.
"""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from django.conf import settings

from inventory.geo import crs, transform
from inventory.intake.neighbours import distance_km
from inventory.intake.table import Floats
from inventory.problems import Invalid

# A municipality is not wider than this (km, from the middle to its nine inner tenths): the project's choice.
CITY_KM = 120.0
# Points of the same rows that lie so near to each other are the same points (km).
SAME_KM = 0.25
# By so much a metric system may stretch a kilometre where it is meant to be used.
FITS = 0.01
TRIED = 60
# So many of the points must be different when degrees are turned back: fewer decimals than needed give a grid.
SPREAD = 0.3
NEAR_ORIGIN = 0.01
Point = tuple[float, float]
_DIGITS = re.compile(r"(?<!\d)\d{4,5}(?!\d)")


@dataclass(frozen=True)
class Reading:
    """Points read in one system: `x` and `y` as given, the degrees they would be, and what speaks for it."""

    srid: int
    lon: Floats
    lat: Floats
    why: str
    rank: int
    others: tuple[int, ...] = ()
    # The system for whose metres the degrees were taken by mistake; 0 for none.
    taken_for: int = 0

    @property
    def middle(self) -> tuple[float, float]:
        """Median longitude and latitude."""
        return float(np.nanmedian(self.lon)), float(np.nanmedian(self.lat))


def named(text: str) -> int | None:
    """The number of the allow-list that a declaration names, or None.

    >>> named("urn:ogc:def:crs:OGC:1.3:CRS84"), named("EPSG:2229"), named("a system of our own")
    (4326, 2229, None)
    """
    if text.rstrip("/").upper().endswith("CRS84"):
        return crs.WGS84
    try:
        return crs.read(text)
    except Invalid:
        return None


def in_heading(*headings: str) -> int | None:
    """The number of the allow-list that stands in a heading ("x_28992"), or None."""
    found = [int(number) for heading in headings for number in _DIGITS.findall(heading)]
    return next((number for number in found if number in crs.ALLOWED), None)


def is_city(lon: Floats, lat: Floats) -> bool:
    """Whether most points lie within one city, on more than one spot, and not where 0, 0 is."""
    known = np.isfinite(lon) & np.isfinite(lat) & (np.abs(lat) <= 90) & (np.abs(lon) <= 180)
    if known.mean() < 0.8:
        return False
    lon, lat = lon[known], lat[known]
    lon_0, lat_0 = float(np.median(lon)), float(np.median(lat))
    if abs(lon_0) < 0.01 and abs(lat_0) < 0.01:
        return False
    return float(np.percentile(distance_km(lon, lat, lon_0, lat_0), 90)) < CITY_KM


def suits_home(lon: float, lat: float, near: Point | None = None) -> bool:
    """Whether the city's trees stand about there; where it has none yet, whether its metric system is meant for it."""
    if near is not None:
        return bool(distance_km(np.array([lon]), np.array([lat]), *near)[0] < CITY_KM)
    srid = int(settings.METRIC_SRID)
    if srid not in crs.ALLOWED or not _inside(transform.area(srid), lon, lat):
        return False
    return transform.distortion(lon, lat, srid) < FITS


def apart_km(one: Reading, lon: Floats, lat: Floats) -> float:
    """The median distance of the same rows under two readings (km); infinity where no row has both."""
    both = np.isfinite(one.lon) & np.isfinite(lon) & np.isfinite(one.lat) & np.isfinite(lat)
    if not both.any():
        return math.inf
    mid = np.radians((one.lat[both] + lat[both]) / 2)
    east = (one.lon[both] - lon[both]) * np.cos(mid)
    return float(np.median(np.hypot(east, one.lat[both] - lat[both]))) * 111.195


def read_as(x: Floats, y: Floats, srids: Iterable[int], why: str, rank: int) -> list[Reading]:
    """The readings of these numbers under given systems, where they are a city inside the system's area."""
    found = []
    for srid in dict.fromkeys(srids):
        lon, lat = transform.to_degrees(x, y, srid)
        if is_city(lon, lat) and _inside(transform.area(srid), float(np.nanmedian(lon)), float(np.nanmedian(lat))):
            found.append(Reading(srid, lon, lat, why, rank))
    return found


def search(x: Floats, y: Floats, known: tuple[Floats, Floats] | None, near: Point | None = None) -> Reading | None:
    """The system of undeclared metres or feet: nearest to `known` points of the same rows, else the likeliest."""
    if known is not None:
        return _nearest(read_as(x, y, _possible(x, y), "", 0), *known)
    step = max(1, len(x) // TRIED)
    fits = read_as(x[::step], y[::step], _possible(x, y), "", 0)
    at_home = [reading for reading in fits if suits_home(*reading.middle, near)]
    best = min(at_home or fits, key=_narrowest, default=None)
    if best is None:
        return None
    lon, lat = transform.to_degrees(x, y, best.srid)
    rivals = tuple(o.srid for o in at_home or fits if apart_km(best, o.lon, o.lat) > SAME_KM)
    why = f"under EPSG:{best.srid} the points would be a city"
    why += " where the municipality is" if at_home else ""
    why += f", and so they would under {len(rivals)} others" if rivals else " and under no other system known here"
    return Reading(best.srid, lon, lat, why, 1 if rivals else 2, rivals)


def restored(lon: Floats, lat: Floats, near: Point | None) -> Reading | None:
    """Degrees that were taken for metres of some system and turned into degrees: all of them near its origin.

    They are turned back under every system; where what comes out are the degrees of a city, that is what they were.
    """
    middle = float(np.nanmedian(lon)), float(np.nanmedian(lat))
    fits = []
    for srid in (*crs.CONTINENTAL, *crs.ALLOWED):
        at = transform.origin(srid)
        # Degrees are no more than 180 m or 360 feet of it.
        if not math.hypot(at[0] - middle[0], at[1] - middle[1]) < NEAR_ORIGIN:
            continue
        x, y = transform.taken_back(lon, lat, srid)
        if is_city(x, y) and len(np.unique(np.round(x, 5) + 1j * np.round(y, 5))) > SPREAD * np.isfinite(x).sum():
            why = f"degrees that were taken for metres of system {srid} and turned into degrees: taken back"
            fits.append(Reading(crs.WGS84, x, y, why, 2, taken_for=srid))
    at_home = [reading for reading in fits if suits_home(*reading.middle, near)]
    found = at_home or fits
    if not found:
        return None
    rivals = [o.taken_for for o in found[1:] if apart_km(found[0], o.lon, o.lat) > SAME_KM]
    return replace(found[0], others=tuple(rivals))


def _nearest(readings: list[Reading], lon: Floats, lat: Floats) -> Reading | None:
    apart = {reading.srid: apart_km(reading, lon, lat) for reading in readings}
    best = min(readings, key=lambda reading: (round(apart[reading.srid], 6), reading.srid), default=None)
    if best is None or apart[best.srid] > SAME_KM:
        return None
    why = f"as EPSG:{best.srid} the points are {apart[best.srid] * 1000:.2f} m from the degrees of the same rows"
    return Reading(best.srid, best.lon, best.lat, why, 3)


def _narrowest(reading: Reading) -> tuple[float, int]:
    """A system for a small land is likelier than one for a large land: its numbers are spread over less of it."""
    west, south, east, north = transform.area(reading.srid) or (-180.0, -90.0, 180.0, 90.0)
    return (east - west) % 360 * (north - south), reading.srid


def _possible(x: Floats, y: Floats) -> list[int]:
    """The projected systems in whose area, as a box of their own numbers, the middle of the points lies."""
    middle = float(np.nanmedian(x)), float(np.nanmedian(y))
    return [srid for srid in crs.ALLOWED if not transform.is_geographic(srid) and _in_box(srid, *middle)]


def _in_box(srid: int, x: float, y: float) -> bool:
    west, south, east, north = _box(srid)
    return west <= x <= east and south <= y <= north


@cache
def _box(srid: int) -> tuple[float, float, float, float]:
    """The area of use in the numbers of the system itself."""
    west, south, east, north = transform.area(srid) or (-180.0, -85.0, 180.0, 85.0)
    across, up = np.linspace(west, east, 7), np.linspace(south, north, 7)
    lon, lat = (part.ravel() for part in np.meshgrid(across, up))
    x, y = transform.from_degrees(lon, lat, srid)
    if not np.isfinite(x).any():
        return math.nan, math.nan, math.nan, math.nan
    return float(np.nanmin(x)), float(np.nanmin(y)), float(np.nanmax(x)), float(np.nanmax(y))


def _inside(area: transform.Box | None, lon: float, lat: float) -> bool:
    if area is None:
        return True
    west, south, east, north = area
    across = west <= lon <= east if west <= east else lon >= west or lon <= east
    return across and south <= lat <= north
