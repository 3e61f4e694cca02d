"""Two coordinates in one cell, however a city writes them: a pair, WKT, EWKB in hexadecimal, GeoJSON, a mapping."""

import math
import re
import struct

from inventory.intake.words import NOTHING

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_PAIR = re.compile(rf"[(\[]?\s*({_NUMBER})°?\s*[,; ]\s*({_NUMBER})°?\s*[)\]]?")
_COMMAS = re.compile(r"[(\[]?\s*([-+]?\d+,\d+)\s*[; ]\s*([-+]?\d+,\d+)\s*[)\]]?")
_WKT = re.compile(
    rf"(?:SRID=(\d{{4,6}});)?\s*POINT\s*(?:Z|M|ZM)?\s*\(\s*({_NUMBER})\s+({_NUMBER})(?:\s+{_NUMBER}){{0,2}}\s*\)",
    re.IGNORECASE,
)
# GeoJSON, or the same as a program prints it with other quotes.
_LIST = re.compile(
    rf"""\{{.*["']coordinates["']\s*:\s*[\[(]\s*({_NUMBER})\s*,\s*({_NUMBER})\s*[,\])].*\}}""", re.DOTALL
)
_LAT = re.compile(rf"""["']?\b(?:lat|latitude|y)["']?\s*[:=]\s*["']?({_NUMBER})""", re.IGNORECASE)
_LON = re.compile(rf"""["']?\b(?:lon|lng|long|longitude|x)["']?\s*[:=]\s*["']?({_NUMBER})""", re.IGNORECASE)
UNREAD = (math.inf, math.inf)
# Longer texts than any point has are not looked at.
LONGEST = 500


def pair(cell: str) -> tuple[float, float]:
    """The two coordinates in the order of the cell; NaN where it is empty, infinity where it cannot be read.

    >>> pair("48.85, 2.29"), pair("POINT (2.29 48.85)"), pair("{'type': 'Point', 'coordinates': [2.29, 48.85]}")
    ((48.85, 2.29), (2.29, 48.85), (2.29, 48.85))
    """
    text = cell.strip()
    if text.casefold() in NOTHING:
        return math.nan, math.nan
    if len(text) > LONGEST:
        return UNREAD
    if found := _WKT.fullmatch(text):
        return _finite(found[2], found[3])
    if found := _PAIR.fullmatch(text) or _LIST.fullmatch(text):
        return _finite(found[1], found[2])
    if found := _COMMAS.fullmatch(text):
        return _finite(found[1].replace(",", "."), found[2].replace(",", "."))
    lat, lon = _LAT.search(text), _LON.search(text)
    if lat and lon:
        return _finite(lon[1], lat[1])
    return _wkb(text)[:2]


def srid(cell: str) -> int | None:
    """The number of the system that a cell itself names (EWKT and EWKB do), or None."""
    text = cell.strip()
    if found := _WKT.fullmatch(text) if len(text) <= LONGEST else None:
        return int(found[1]) if found[1] else None
    return _wkb(text)[2] if len(text) <= LONGEST else None


def _finite(first: str, second: str) -> tuple[float, float]:
    x, y = float(first), float(second)
    return (x, y) if math.isfinite(x) and math.isfinite(y) else UNREAD


def _wkb(text: str) -> tuple[float, float, int | None]:
    """A point as PostGIS writes it in hexadecimal, of either byte order, with or without SRID and heights."""
    unread = (*UNREAD, None)
    try:
        raw = bytes.fromhex(text)
    except ValueError:
        return unread
    if len(raw) < 21 or raw[0] > 1:
        return unread
    order = "<" if raw[0] else ">"
    (kind,) = struct.unpack_from(f"{order}I", raw, 1)
    named = bool(kind & 0x20000000)
    size = 2 + bool(kind & 0x80000000) + bool(kind & 0x40000000)
    if kind & 0x0FFFFFFF != 1 or len(raw) != 5 + 4 * named + 8 * size:
        return unread
    number = struct.unpack_from(f"{order}I", raw, 5)[0] if named else None
    x, y = struct.unpack_from(f"{order}dd", raw, 5 + 4 * named)
    return (x, y, number) if math.isfinite(x) and math.isfinite(y) else unread
