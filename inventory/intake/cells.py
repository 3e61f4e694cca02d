"""What one cell says: numbers, days, points, addresses. Pure text to values; unreadable is said, never guessed."""

import math
import re
import struct
from collections.abc import Callable
from datetime import date
from typing import Generic, TypeVar

V = TypeVar("V")
NOTHING = frozenset({"", "-", "--", "null", "none", "n/a", "na", "nan", "unknown", "nil", "?"})
UNREAD = -2_000_000_000  # an ordinal that no date has
UNKNOWN = -1
# Days by which systems write "not known": spreadsheets and databases begin to count there.
PLACEHOLDERS = frozenset({date(1899, 12, 30), date(1899, 12, 31), date(1900, 1, 1), date(1970, 1, 1)})

_YMD = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_XYZ = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})(?: .*)?")
_YEAR = re.compile(r"(\d{4})(?:\.0+)?")
_PAIR = re.compile(r"\(?\s*([-+]?\d+(?:\.\d+)?)\s*[,; ]\s*([-+]?\d+(?:\.\d+)?)\s*\)?")
_WKT = re.compile(r"(?:SRID=4326;)?\s*POINT\s*\(\s*([-+.\deE]+)\s+([-+.\deE]+)\s*\)", re.IGNORECASE)
_FIRST = re.compile(r"(\d+[a-zA-Z]?(?:-\d+)?)\s*,?\s+(\S.*)")
_LAST = re.compile(r"(\D.*?\S)\s+(\d+\s?[a-zA-Z]?(?:-\d+)?)")
_SIDES = re.compile(r"\d+(?:\.\d+)?")


class Memo(dict[str, V], Generic[V]):
    """Remembers what was made of each distinct cell; forgets all when there are too many to be worth it."""

    def __init__(self, make: Callable[[str], V], limit: int = 200_000) -> None:
        super().__init__()
        self._make, self._limit = make, limit

    def __missing__(self, cell: str) -> V:
        if len(self) >= self._limit:
            self.clear()
        value = self[cell] = self._make(cell)
        return value


def number(cell: str, decimal: str = ".") -> float:
    """A number; NaN where the cell is empty, infinity where it cannot be read.

    >>> number("12.5"), number("12,5", ","), number("Clump")
    (12.5, 12.5, inf)
    """
    text = cell.strip()
    if text.casefold() in NOTHING:
        return math.nan
    try:
        value = float(text.replace(",", ".") if decimal == "," else text)
    except ValueError:
        return math.inf
    # Python reads 1_000 and 1e400 as numbers; a city's file that holds them holds something else.
    return value if math.isfinite(value) and "_" not in text else math.inf


def days(cell: str, form: str) -> tuple[int, int]:
    """First and last possible day as ordinals: (UNKNOWN, UNKNOWN) where empty, (UNREAD, UNREAD) where unreadable.

    A bare year is the whole year, whatever the form; 0 means unknown.
    """
    text = cell.strip()
    if text.casefold() in NOTHING or text in ("0", "0.0"):
        return UNKNOWN, UNKNOWN
    try:
        if year := _YEAR.fullmatch(text):
            return date(int(year[1]), 1, 1).toordinal(), date(int(year[1]), 12, 31).toordinal()
        found = _day(text, form).toordinal()
    except ValueError:
        return UNREAD, UNREAD
    return found, found


def _day(text: str, form: str) -> date:
    if form == "ymd":
        parts = _YMD.fullmatch(text)
        order = (1, 2, 3)
    else:
        parts = _XYZ.fullmatch(text)
        order = (3, 2, 1) if form == "dmy" else (3, 1, 2)
    if parts is None:
        raise ValueError(text)
    year, month, day = (int(parts[place]) for place in order)
    return date(year, month, day)


def point(cell: str, order: str) -> tuple[float, float]:
    """(longitude, latitude) of "a, b", WKT or EWKB in hexadecimal; NaN where empty, infinity where unreadable.

    >>> point("48.85, 2.29", "lat_lon"), point("POINT (2.29 48.85)", "lon_lat")
    ((2.29, 48.85), (2.29, 48.85))
    """
    text = cell.strip()
    if text.casefold() in NOTHING:
        return math.nan, math.nan
    found = _WKT.fullmatch(text) or _PAIR.fullmatch(text)
    first, second = (number(found[1]), number(found[2])) if found else _ewkb(text)
    return (second, first) if order == "lat_lon" else (first, second)


def _ewkb(text: str) -> tuple[float, float]:
    """A 2D point as PostGIS writes it in hexadecimal, little-endian, with or without SRID 4326."""
    unread = (math.inf, math.inf)
    try:
        raw = bytes.fromhex(text)
    except ValueError:
        return unread
    for head in (b"\x01\x01\x00\x00\x20\xe6\x10\x00\x00", b"\x01\x01\x00\x00\x00"):
        if raw.startswith(head) and len(raw) == len(head) + 16:
            x, y = struct.unpack("<dd", raw[len(head) :])
            return (x, y) if math.isfinite(x) and math.isfinite(y) else unread
    return unread


def address(cell: str) -> tuple[str, str]:
    """(house number, street): the number first or last, or no number at all.

    >>> address("2190X North Point St"), address("Hauptstr. 12"), address("Dolores Park")
    (('2190X', 'North Point St'), ('12', 'Hauptstr.'), ('', 'Dolores Park'))
    """
    text = " ".join(cell.split())
    if found := _FIRST.fullmatch(text):
        return found[1], found[2]
    if found := _LAST.fullmatch(text):
        return found[2], found[1]
    return "", text


def smaller_side(cell: str) -> float:
    """The smaller of the one or two lengths in a cell ("3x6", "Width 3ft"); NaN where there is none or zero."""
    sides = [float(side) for side in _SIDES.findall(cell)[:2]]
    return min(sides) if sides and min(sides) > 0 else math.nan
