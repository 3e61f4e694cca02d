"""Rules of the inventory that need no database: sizes, dates, states."""

import math
from collections.abc import Sequence
from datetime import date

from inventory.problems import FieldProblem

INCH_CM = 2.54
FOOT_M = 0.3048


def quadratic_diameter_cm(stems_cm: Sequence[float]) -> float:
    """The diameter that stands for several stems: the root of the sum of their squares (cm).

    Source: quadratic sum, BS 5837:2012 for 2-5 stems (as quoted in secondary sources).

    >>> round(quadratic_diameter_cm([20, 15, 10]), 3)
    26.926
    """
    return math.sqrt(sum(stem * stem for stem in stems_cm))


def diameter_from_girth_cm(girth_cm: float) -> float:
    """The diameter of a stem of the given girth (cm).

    >>> round(diameter_from_girth_cm(157), 3)
    49.975
    """
    return girth_cm / math.pi


def not_in_the_future(pointer: str, day: date | None, today: date) -> list[FieldProblem]:
    """A fact cannot lie after today."""
    if day is not None and day > today:
        return [FieldProblem(pointer, f"{day.isoformat()} lies in the future")]
    return []
