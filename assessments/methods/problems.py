"""What a method says of input that it cannot compute with: each wrong field by JSON pointer, in one exception."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

METHOD: Final = "input_problems"
VERSION: Final = 1


@dataclass(frozen=True)
class WrongField:
    """One wrong field: a JSON pointer into the request (`/readings/3/azimuth_deg`, empty: the whole), and why."""

    pointer: str
    detail: str


class MethodProblem(ValueError):
    """The input breaks a rule of a method; `fields` names every field known to be wrong, the first one first.

    >>> str(MethodProblem("/diameter_cm", "must be more than 0"))
    'diameter_cm: must be more than 0'
    """

    def __init__(self, pointer: str, detail: str, more: Iterable[WrongField] = ()) -> None:
        self.fields: tuple[WrongField, ...] = (WrongField(pointer, detail), *more)
        others = f" (and {len(self.fields) - 1} more)" if len(self.fields) > 1 else ""
        super().__init__(f"{pointer.lstrip('/') or 'request'}: {detail}{others}")

    @classmethod
    def of(cls, fields: Iterable[WrongField]) -> "MethodProblem":
        """Put several wrong fields into one problem. Raises ValueError without any.

        >>> len(MethodProblem.of([WrongField("/a", "is missing"), WrongField("/b", "is missing")]).fields)
        2
        """
        found = tuple(fields)
        if not found:
            raise ValueError("a problem needs a field")
        return cls(found[0].pointer, found[0].detail, found[1:])


def number(value: object, pointer: str, least: float, most: float, *, above: bool = False) -> float:
    """Give a finite number in least..most (`above`: more than least), else raise MethodProblem.

    >>> number(3, "/height_m", 0, 120)
    3.0
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise MethodProblem(pointer, "must be a number")
    # An int of any size compares exactly; NaN compares false with everything.
    inside = least < value <= most if above else least <= value <= most
    if not inside or not math.isfinite(value):
        bounds = f"more than {least:g} and at most {most:g}" if above else f"{least:g} to {most:g}"
        raise MethodProblem(pointer, f"must be {bounds}")
    return float(value)
