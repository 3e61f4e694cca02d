"""What a kind of calculation is: name, how it is worked, schemas, example, cautions, whether it is drawn."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from .shapes import Schema

ADVICE: Final = (
    "Advice to a qualified person, never a verdict that a tree is safe. Local codes, climbing, felling and electrical "
    "rules and licensed practice come first."
)


@dataclass(frozen=True)
class Worked:
    """An answer, and how to draw it as SVG where there is something to draw."""

    answer: dict[str, Any]
    draw: Callable[[], str] | None = None


@dataclass(frozen=True)
class Kind:
    """One kind. `work` takes a parsed JSON request and raises MethodProblem naming each wrong field."""

    name: str
    title: str
    about: str
    work: Callable[[Any], Worked]
    input: Schema
    output: Schema
    example: dict[str, Any]
    cautions: tuple[str, ...] = ()
    drawn: bool = False
