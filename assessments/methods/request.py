"""Reads a JSON request of a method strictly: unknown fields, wrong types, numbers out of bounds name their pointer."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import islice
from typing import Any, Final, TypeVar

from .problems import MethodProblem, WrongField, number

METHOD: Final = "strict_request"
VERSION: Final = 1

T = TypeVar("T")
_MOST_PROBLEMS: Final = 20
_LONGEST_NAME: Final = 40


def escaped(name: object) -> str:
    """Give a name as one part of a JSON pointer (RFC 6901), cut short if it is very long.

    >>> escaped("a/b~c")
    'a~1b~0c'
    """
    return str(name)[:_LONGEST_NAME].replace("~", "~0").replace("/", "~1")


class Fields:
    """One JSON object with the fields it may have; null counts as not given.

    >>> Fields({"height_m": 3}, "", ("height_m",)).number("height_m", 0, 120)
    3.0
    """

    def __init__(self, value: object, pointer: str, known: Sequence[str]) -> None:
        if not isinstance(value, Mapping):
            raise MethodProblem(pointer, "must be an object")
        unknown = list(islice((name for name in value if name not in known), _MOST_PROBLEMS))
        if unknown:
            detail = f"is not known; there are {', '.join(known)}"
            raise MethodProblem.of(WrongField(f"{pointer}/{escaped(name)}", detail) for name in unknown)
        self.pointer = pointer
        self._value = value

    def at(self, name: str) -> str:
        """Give the pointer of a field."""
        return f"{self.pointer}/{name}"

    def has(self, name: str) -> bool:
        """Tell whether a field is given."""
        return self._value.get(name) is not None

    def raw(self, name: str) -> Any:
        """Give a field as it is, None where it is not given."""
        return self._value.get(name)

    def wrong(self, name: str, detail: str) -> MethodProblem:
        """Make the problem of one field."""
        return MethodProblem(self.at(name), detail)

    def needed(self, name: str) -> Any:
        """Give a field that must be there. Raises MethodProblem."""
        if not self.has(name):
            raise self.wrong(name, "is missing")
        return self._value[name]

    def number(self, name: str, least: float, most: float, *, above: bool = False) -> float:
        """Give a finite number that must be there. Raises MethodProblem."""
        return number(self.needed(name), self.at(name), least, most, above=above)

    def maybe(self, name: str, least: float, most: float, *, above: bool = False) -> float | None:
        """Give a finite number, or None where it is not given. Raises MethodProblem."""
        return self.number(name, least, most, above=above) if self.has(name) else None

    def choice(self, name: str, words: Iterable[str], default: str) -> str:
        """Give one of several words. Raises MethodProblem."""
        value, known = self._value.get(name), tuple(words)
        if value is None:
            return default
        if not isinstance(value, str) or value not in known:
            raise self.wrong(name, f"must be one of {', '.join(known)}")
        return value

    def text(self, name: str, longest: int = 100) -> str:
        """Give a text that must be there, stripped, neither empty nor too long. Raises MethodProblem."""
        value = self.needed(name)
        if not isinstance(value, str) or not value.strip() or len(value) > longest:
            raise self.wrong(name, f"must be a text of 1 to {longest} characters")
        return value.strip()

    def flag(self, name: str, default: bool = False) -> bool:
        """Give true or false. Raises MethodProblem."""
        value = self._value.get(name, default)
        if not isinstance(value, bool):
            raise self.wrong(name, "must be true or false")
        return value

    def inner(self, name: str, known: Sequence[str]) -> "Fields":
        """Give a field that is an object; an empty one where it is not given. Raises MethodProblem."""
        return Fields(self._value[name] if self.has(name) else {}, self.at(name), known)

    def items(self, name: str, most: int, one: Callable[[object, str], T], *, least: int = 0) -> tuple[T, ...]:
        """Give an array read item by item by `one(value, pointer)`; its problems are gathered. Raises MethodProblem."""
        value = self.needed(name) if least else self._value.get(name)
        if value is None:
            return ()
        if isinstance(value, str | bytes) or not isinstance(value, Sequence):
            raise self.wrong(name, "must be an array")
        if not least <= len(value) <= most:
            raise self.wrong(name, f"has {len(value)} items; {least} to {most} are taken")
        return _gathered(value, self.at(name), one)


def _gathered(values: Sequence[object], pointer: str, one: Callable[[object, str], T]) -> tuple[T, ...]:
    found: list[T] = []
    wrong: list[WrongField] = []
    for place, value in enumerate(values):
        try:
            found.append(one(value, f"{pointer}/{place}"))
        except MethodProblem as problem:
            wrong.extend(problem.fields)
        if len(wrong) >= _MOST_PROBLEMS:
            break
    if wrong:
        raise MethodProblem.of(wrong)
    return tuple(found)


def beneath(pointer: str, problem: MethodProblem) -> MethodProblem:
    """Move the pointers of a problem of a nested request beneath the field that holds it.

    >>> beneath("/sections/0", MethodProblem("/bark_cm", "must be 0 to 50")).fields[0].pointer
    '/sections/0/bark_cm'
    """
    return MethodProblem.of(WrongField(pointer + field.pointer, field.detail) for field in problem.fields)
