"""Query parameters: declared once, for the strict reading and for the OpenAPI document alike."""

import math
import re
import uuid
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from django.http import QueryDict

from inventory.problems import FieldProblem, Invalid

_WHOLE = re.compile(r"-?[0-9]{1,18}")
_NUMBER = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,15})?([eE][-+]?[0-9]{1,2})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Param:
    """One query parameter: how to read it (ValueError tells what is wrong) and its JSON Schema."""

    name: str
    read: Callable[[str], Any]
    schema: dict[str, Any]
    about: str
    default: Any = None
    required: bool = False
    example: Any = field(default=None, compare=False)


def integer(name: str, about: str, *, low: int = -(2**53), high: int = 2**53, default: int | None = None) -> Param:
    """A whole number, low <= value <= high."""

    def read(text: str) -> int:
        if not _WHOLE.fullmatch(text):
            raise ValueError("must be a whole number")
        return int(_within(int(text), low, high))

    schema = {"type": "integer", "minimum": low, "maximum": high}
    return Param(name, read, schema | _default(default), about, default)


def number(name: str, about: str, *, low: float, high: float) -> Param:
    """A finite number, low <= value <= high."""

    def read(text: str) -> float:
        if not _NUMBER.fullmatch(text):
            raise ValueError("must be a number")
        return _within(float(text), low, high)

    return Param(name, read, {"type": "number", "minimum": low, "maximum": high}, about)


def day(name: str, about: str) -> Param:
    """A date, YYYY-MM-DD."""

    def read(text: str) -> date:
        if not _DAY.fullmatch(text):
            raise ValueError("must be a date, YYYY-MM-DD")
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise ValueError("there is no such day") from error

    return Param(name, read, {"type": "string", "format": "date"}, about)


def word(name: str, about: str, words: Iterable[str], default: str | None = None) -> Param:
    """One of a few words."""
    known = list(words)

    def read(text: str) -> str:
        if text not in known:
            raise ValueError(f"must be one of {', '.join(known)}")
        return text

    return Param(name, read, {"type": "string", "enum": known} | _default(default), about, default)


def text(name: str, about: str, *, longest: int = 200, example: str | None = None) -> Param:
    """A text of 1 to `longest` characters, no control characters."""

    def read(raw: str) -> str:
        if not 1 <= len(raw) <= longest:
            raise ValueError(f"must have 1 to {longest} characters")
        if any(ord(letter) < 32 or 0x7F <= ord(letter) < 0xA0 for letter in raw):
            raise ValueError("must not hold control characters")
        return raw

    schema = {"type": "string", "minLength": 1, "maxLength": longest}
    return Param(name, read, schema, about, example=example)


def uid(name: str, about: str) -> Param:
    """A UUID."""

    def read(raw: str) -> uuid.UUID:
        found = as_uid(raw)
        if found is None:
            raise ValueError("must be a UUID")
        return found

    return Param(name, read, {"type": "string", "format": "uuid"}, about)


def as_uid(raw: str) -> uuid.UUID | None:
    """A UUID in its ordinary form (8-4-4-4-12), else None."""
    try:
        found = uuid.UUID(raw)
    except ValueError:
        return None
    return found if str(found) == raw.lower() else None


def box(name: str = "bbox") -> Param:
    """A box in degrees: west,south,east,north; west > east crosses the antimeridian."""
    schema = {"type": "array", "items": {"type": "number"}, "minItems": 4, "maxItems": 4}
    about = "Box in degrees (WGS 84): west,south,east,north. West above east crosses the antimeridian."
    return Param(name, read_box, schema, about, example=[-29.51, 44.99, -29.49, 45.01])


def read_box(raw: str) -> Box:
    """Read west,south,east,north. Raises ValueError unless four finite numbers in range, south <= north."""
    parts = raw.split(",")
    if len(parts) != 4 or not all(_NUMBER.fullmatch(part) for part in parts):
        raise ValueError("must be four numbers: west,south,east,north")
    west, south, east, north = map(float, parts)
    if not (-180 <= west <= 180 and -180 <= east <= 180):
        raise ValueError("a longitude lies outside -180..180")
    if not (-90 <= south <= north <= 90):
        raise ValueError("latitudes must lie in -90..90, south not above north")
    return west, south, east, north


def read(query: QueryDict, declared: Sequence[Param]) -> dict[str, Any]:
    """Read every declared parameter (absent: its default).

    Raises Invalid (400) that names each unknown, repeated, missing or wrong parameter.
    """
    known = {param.name: param for param in declared}
    wrong = [FieldProblem(f"?{name}", "is not a parameter of this address") for name in query if name not in known]
    found = {}
    for name, param in known.items():
        try:
            found[name] = _value(param, query.getlist(name))
        except ValueError as error:
            wrong.append(FieldProblem(f"?{name}", str(error)))
    if wrong:
        raise Invalid(f"{wrong[0].pointer[1:]}: {wrong[0].detail}", wrong)
    return found


def _value(param: Param, given: Sequence[str]) -> Any:
    if not given:
        if param.required:
            raise ValueError("is required")
        return param.default
    if len(given) > 1:
        raise ValueError("is given more than once")
    return param.read(given[0])


def _within(value: float, low: float, high: float) -> float:
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"must lie in {low:g}..{high:g}")
    return value


def _default(value: Any) -> dict[str, Any]:
    return {} if value is None else {"default": value}


UNITS: Final = word(
    "units", "`us` adds inches and feet beside the SI values; without it your own preference holds.", ("si", "us")
)
