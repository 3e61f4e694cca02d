"""Days of the demo city, all counted back from one reference date, and the keys that stay the same every time."""

import calendar
import uuid
from datetime import UTC, date, datetime, time, timedelta
from typing import Final

from deploy.demo.dice import dice

YEARS: Final = 3
_KEYS: Final = uuid.uuid5(uuid.NAMESPACE_DNS, "harrowmere.example")


def key(*about: object) -> uuid.UUID:
    """Give the uid of something invented: always the same for the same words."""
    return uuid.uuid5(_KEYS, "/".join(map(str, about)))


def taken_over(reference: date) -> date:
    """The day on which the ward books became this inventory, before the first round."""
    return reference - timedelta(days=YEARS * 366 + 45)


def last(reference: date, month: int, day: int, back: int = 0) -> date:
    """The last such day of the year not after the reference date, `back` years earlier.

    >>> last(date(2026, 3, 1), 5, 20, back=1)
    datetime.date(2024, 5, 20)
    """
    year = reference.year - back - ((month, day) > (reference.month, reference.day))
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def at(day: date, *about: object) -> datetime:
    """A moment of a working day."""
    throw = dice("clock", day, *about)
    return datetime.combine(day, time(9 + throw.randrange(6), throw.randrange(60)), UTC)


def working(day: date) -> date:
    """The day itself, or the Monday after a weekend."""
    return day + timedelta(days=max(0, 7 - day.weekday())) if day.weekday() > 4 else day


def planting_day(first: date, *about: object) -> date:
    """A day of the first planting season (November to March) that begins or goes on at a day."""
    throw = dice("planting", *about)
    if first.month in (11, 12, 1, 2, 3):
        return first + timedelta(days=throw.randrange(20))
    return date(first.year, 11, 1) + timedelta(days=throw.randrange(120))
