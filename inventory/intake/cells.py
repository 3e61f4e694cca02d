"""What one cell says: numbers, days, points, addresses. Pure text to values; unreadable is said, never guessed."""

import math
import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Generic, TypeVar

from inventory.intake import points
from inventory.intake.words import NOTHING

V = TypeVar("V")
UNREAD = -2_000_000_000  # an ordinal that no date has
UNKNOWN = -1
# Days by which systems write "not known": spreadsheets and databases begin to count there, or end.
PLACEHOLDERS = frozenset({date(1899, 12, 30), date(1899, 12, 31), date(1900, 1, 1), date(1970, 1, 1)})
# Years that say "not known", whatever the day in them.
NO_YEARS = frozenset({1, 9999})
# Years of two digits up to this one are of this century, the others of the last (the project's choice).
CENTURY = 30
# Forms in which a day is a number: a spreadsheet's days, seconds and milliseconds since 1970.
COUNTED = ("serial", "epoch", "epoch_ms")
# Day 0 of spreadsheets, and of the clocks of computers.
SERIAL_ZERO, EPOCH_ZERO = date(1899, 12, 30).toordinal(), date(1970, 1, 1).toordinal()

_YMD = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_XYZ = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})[-/. ]+(\d{4}|\d{2})(?:[T ].*)?")
_COMPACT = re.compile(r"((?:1[6-9]|20)\d\d)([01]\d)([0-3]\d)(?:\.0|000000)?")
_DAY_WORD = re.compile(r"(\d{1,2})\.?[- ]+([^\W\d_]{3,10})\.?[- ,]+(\d{4})(?: .*)?")
_WORD_DAY = re.compile(r"([^\W\d_]{3,10})\.? (\d{1,2}),? (\d{4})(?: .*)?")
# The first three or four letters of each month in six languages.
_MONTHS = (
    "jan jän ene gen", "feb fév fev feb", "mar mär maa mrt", "apr avr abr", "mai may mei mag", "jun juin giu",
    "jul juil lug", "aug aoû aou ago", "sep set", "oct okt ott", "nov", "dec dez déc dic",
)  # fmt: skip
_YEAR = re.compile(r"(\d{4})(?:\.0+)?")
_YEARS = re.compile(r"((?:1[6-9]|20)\d\d)\s*[-/–]\s*((?:1[6-9]|20)\d\d)")
_MONTH = re.compile(r"(?:((?:1[6-9]|20)\d\d)[-/.](\d{1,2})|(\d{1,2})[-/.]((?:1[6-9]|20)\d\d))")
_NO_DAY = re.compile(r"0{1,4}[-/.]0{1,2}[-/.]0{1,4}(?:[T ].*)?")
_FIRST = re.compile(r"(\d+[a-zA-Z]?(?:-\d+)?)\s*,?\s+(\S.*)")
_LAST = re.compile(r"(\D.*?\S)\s+(\d+\s?[a-zA-Z]?(?:-\d+)?)")
UNITS = {
    "cm": "cm", "mm": "mm", "m": "m", "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in",
    "”": "in", "″": "in",
    "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "′": "ft", "’": "ft", "metres": "m", "meters": "m", "metre": "m",
    "meter": "m", "zoll": "in", "duim": "in",
}  # fmt: skip
_SIZED = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*([A-Za-z]+\.?|\"|''|'|”|″|′|’)")
_UNIT = re.compile(r"(?<=\d)\s*([A-Za-z]+|\"|''|'|”|″|′|’)")
_N = r"(\d+(?:\.\d+)?)"
_U = r"\s*(?:cm|mm|m|in|inch|inches|ft|feet|foot|metres?|meters?|metri|metros|zoll|\"|'|”|″|′|’)?\.?\s*"
_FROM = r"(?:from|between|von|zwischen|de|da|del|entre|tra|van|tussen|>|>=|≥)?\s*"
_TO = r"(?:-|–|—|/|to|tot|bis|a|à|al|e|et|and|und|en|y|<|<=|~|\.\.\.?|< x <|- ?<)"
_RANGE = re.compile(rf"[\[(]?{_FROM}{_N}{_U}{_TO}\s*{_N}{_U}[\])]?")
_MORE = r"(?:>=?|≥|over|above|more than|ab|uber|über|mehr als|mindestens|plus de|sup(?:erieur|érieur)? (?:a|à)|"
_MORE += r"mas de|más de|oltre|piu di|più di|meer dan|boven|vanaf|at least)"
_OVER = re.compile(rf"{_MORE}\s*{_N}{_U}")
_ALSO = r"(?:\+|and (?:over|above|more|up|larger|taller)|or more|en (?:hoger|meer|groter)|of (?:meer|hoger)|"
_ALSO += r"und (?:mehr|hoher|höher)|et (?:plus|\+)|y (?:mas|más)|e (?:oltre|piu|più)|plus|ff)"
_AND_OVER = re.compile(rf"{_N}{_U}{_ALSO}{_U}")
_LESS = r"(?:<=?|≤|under|below|less than|up to|to|tot|bis(?: zu)?|unter|jusqu'? ?(?:a|à)|moins de|hasta|"
_LESS += r"menos de|fino a|meno di|minder dan|onder|weniger als|inf(?:erieur|érieur)? (?:a|à)|sous|sotto)"
_UNDER = re.compile(rf"{_LESS}\s*{_N}{_U}")
_ALONE = re.compile(rf"{_N}{_U}")
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


def sized(cell: str, decimal: str, unit: str, scale: Mapping[str, float]) -> float:
    """A number in a unit; one with another unit behind it is brought to that unit, as written ("14 in" in cm: 35.56).

    >>> sized("14 in", ".", "cm", {"cm": 1.0, "in": 2.54}), sized("14", ".", "cm", {"cm": 1.0})
    (35.56, 14.0)
    """
    value = number(cell, decimal)
    if math.isinf(value) and (found := _SIZED.fullmatch(cell.strip())):
        other = UNITS.get(found[2].casefold().rstrip("."), "")
        if other in scale:
            value = number(found[1], decimal)
            return value if math.isinf(value) or other == unit else value * scale[other] / scale[unit]
    return value


def unit_of(cell: str) -> str:
    """The unit that stands behind the last number of a cell, or empty.

    >>> unit_of("10-15m"), unit_of('14"'), unit_of("14")
    ('m', 'in', '')
    """
    found = [UNITS[word.casefold()] for word in _UNIT.findall(cell) if word.casefold() in UNITS]
    return found[-1] if found else ""


def interval(cell: str, decimal: str = ".") -> tuple[float, float]:
    """Lowest and highest value of a class; NaN where it is open or empty, infinity where it is no class.

    >>> interval("07-12"), interval("31+"), interval("tot 6 m.")
    ((7.0, 12.0), (31.0, nan), (0.0, 6.0))
    """
    text = cell.strip().casefold()
    if text in NOTHING:
        return math.nan, math.nan
    if len(text) > 60:
        return math.inf, math.inf
    if decimal == ",":
        text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    if found := _RANGE.fullmatch(text):
        low, high = float(found[1]), float(found[2])
        return (low, high) if low <= high else (math.inf, math.inf)
    if found := _OVER.fullmatch(text) or _AND_OVER.fullmatch(text):
        return float(found[1]), math.nan
    if found := _UNDER.fullmatch(text):
        return 0.0, float(found[1])
    found = _ALONE.fullmatch(text)
    return (float(found[1]), float(found[1])) if found else (math.inf, math.inf)


def days(cell: str, form: str) -> tuple[int, int]:
    """First and last possible day as ordinals: (UNKNOWN, UNKNOWN) where empty, (UNREAD, UNREAD) where unreadable.

    A bare year is the whole year, a month the whole month, whatever the form; 0 means unknown.

    >>> [date.fromordinal(day).isoformat() for day in days("03/1998", "dmy") + days("36000", "serial")]
    ['1998-03-01', '1998-03-31', '1998-07-24', '1998-07-24']
    """
    text = cell.strip()
    if text.casefold() in NOTHING or text in ("0", "0.0") or _NO_DAY.fullmatch(text):
        return UNKNOWN, UNKNOWN
    try:
        if span := _span(text):
            return span
        found = _counted(text, form) if form in COUNTED else _day(text, form).toordinal()
    except (ValueError, OverflowError):
        return UNREAD, UNREAD
    return found, found


def _span(text: str) -> tuple[int, int] | None:
    """A year, two years, or a month of a year: its first and its last day; None for anything else."""
    if year := _YEAR.fullmatch(text) or _YEARS.fullmatch(text):
        return date(int(year[1]), 1, 1).toordinal(), date(int(year[year.lastindex or 1]), 12, 31).toordinal()
    if month := _MONTH.fullmatch(text):
        first = date(int(month[1] or month[4]), int(month[2] or month[3]), 1)
        later = date(first.year + first.month // 12, first.month % 12 + 1, 1)
        return first.toordinal(), later.toordinal() - 1
    return None


def _counted(text: str, form: str) -> int:
    """A day by its number: of a spreadsheet, or by seconds or milliseconds since 1970."""
    value = float(text.replace(",", "."))
    if form == "serial":
        day = SERIAL_ZERO + math.floor(value)
    else:
        day = EPOCH_ZERO + math.floor(value / (86_400_000 if form == "epoch_ms" else 86_400))
    return date.fromordinal(day).toordinal()


def _day(text: str, form: str) -> date:
    if found := _COMPACT.fullmatch(text):
        return date(int(found[1]), int(found[2]), int(found[3]))
    if found := _DAY_WORD.fullmatch(text) or _WORD_DAY.fullmatch(text):
        day, word = (found[1], found[2]) if found[1].isdigit() else (found[2], found[1])
        return date(int(found[3]), _month(word), int(day))
    if form == "ymd":
        parts = _YMD.fullmatch(text)
        order = (1, 2, 3)
    else:
        parts = _XYZ.fullmatch(text)
        order = (3, 2, 1) if form == "dmy" else (3, 1, 2)
    if parts is None:
        raise ValueError(text)
    year, month, day = (int(parts[place]) for place in order)
    if len(parts[order[0]]) == 2:
        year += 2000 if year <= CENTURY else 1900
    return date(year, month, day)


def _month(word: str) -> int:
    for number, names in enumerate(_MONTHS, 1):
        if word.casefold()[:3] in names.split() or word.casefold()[:4] in names.split():
            return number
    raise ValueError(word)


def point(cell: str, order: str) -> tuple[float, float]:
    """(easting, northing) of a cell with both, in the order given; NaN where empty, infinity where unreadable.

    >>> point("48.85, 2.29", "lat_lon"), point("POINT (2.29 48.85)", "lon_lat")
    ((2.29, 48.85), (2.29, 48.85))
    """
    first, second = points.pair(cell)
    return (second, first) if order == "lat_lon" else (first, second)


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
