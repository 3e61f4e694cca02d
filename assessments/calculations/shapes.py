"""The few JSON Schema pieces that describe requests and answers, with the bounds that the methods keep themselves."""

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

Schema: TypeAlias = dict[str, Any]


def _said(about: str) -> Schema:
    return {"description": about} if about else {}


def number(least: float, most: float, about: str = "", *, above: bool = False, needed: bool = False) -> Schema:
    """A finite number; `above`: more than `least`. Unless needed, null counts as not given.

    >>> number(0, 3)["type"]
    ['number', 'null']
    """
    low = "exclusiveMinimum" if above else "minimum"
    kind: str | list[str] = "number" if needed else ["number", "null"]
    return {"type": kind, low: least, "maximum": most, **_said(about)}


def whole(least: int, most: int, about: str, *, default: int, null: bool = False) -> Schema:
    """A whole number."""
    kind: str | list[str] = ["integer", "null"] if null else "integer"
    return {"type": kind, "minimum": least, "maximum": most, "default": default, **_said(about)}


def word(words: Iterable[str], about: str = "", *, needed: bool = False) -> Schema:
    """One of several words."""
    if needed:
        return {"type": "string", "enum": list(words), **_said(about)}
    return {"type": ["string", "null"], "enum": [*words, None], **_said(about)}


def text(about: str = "", *, needed: bool = False, longest: int = 100) -> Schema:
    """A short text."""
    return {"type": "string" if needed else ["string", "null"], "minLength": 1, "maxLength": longest, **_said(about)}


def flag(about: str, *, default: bool | None = None) -> Schema:
    """true or false."""
    return {"type": "boolean", **({} if default is None else {"default": default}), **_said(about)}


def array(items: Schema, most: int, about: str = "", *, least: int = 0, needed: bool = False) -> Schema:
    """An array. Unless needed, null counts as not given."""
    kind: str | list[str] = "array" if needed else ["array", "null"]
    return {"type": kind, "items": items, "minItems": least, "maxItems": most, **_said(about)}


def body(properties: Schema, required: Sequence[str] = (), about: str = "", *, null: bool = False) -> Schema:
    """An object that takes no other member."""
    return {
        "type": ["object", "null"] if null else "object",
        "properties": properties,
        **({"required": list(required)} if required else {}),
        "additionalProperties": False,
        **_said(about),
    }


def either(*options: Schema, about: str = "") -> Schema:
    """Any of several forms."""
    return {"anyOf": list(options), **_said(about)}


def gives(properties: Schema, optional: Sequence[str] = ()) -> Schema:
    """An answer: every member is there but the optional ones, and more may be added; with notes, method, version."""
    told = properties | {
        "notes": {"type": "array", "items": {"type": "string"}},
        "method": {"type": "string"},
        "version": {"type": "integer"},
    }
    return {"type": "object", "properties": told, "required": [name for name in told if name not in optional]}


NUMBER: Schema = {"type": "number"}
MAYBE: Schema = {"type": ["number", "null"]}
TEXT: Schema = {"type": "string"}
MAYBE_TEXT: Schema = {"type": ["string", "null"]}
FLAG: Schema = {"type": "boolean"}
MAYBE_FLAG: Schema = {"type": ["boolean", "null"]}
OBJECT: Schema = {"type": "object"}
MAYBE_OBJECT: Schema = {"type": ["object", "null"]}
TEXTS: Schema = {"type": "array", "items": TEXT}


def rows(**columns: Schema) -> Schema:
    """Rows of an answer."""
    return {"type": "array", "items": {"type": "object", "properties": columns, "required": list(columns)}}


def parts(**members: Schema) -> Schema:
    """An object inside an answer."""
    return {"type": "object", "properties": members, "required": list(members)}
