"""Reads JSON bodies strictly: limited size, UTF-8, finite numbers, no member twice."""

import json
import math
from collections.abc import Mapping
from typing import IO, Any, Final

from django.conf import settings
from rest_framework.parsers import BaseParser

from api.http.kinds import TooLarge, Unreadable

MERGE_PATCH: Final = "application/merge-patch+json"


def read_json(text: str) -> Any:
    """Parse JSON as RFC 8259 means it. Raises Unreadable for NaN, Infinity, numbers too large, members twice."""
    try:
        found = json.loads(text, parse_constant=_refuse, parse_float=_finite, object_pairs_hook=_once)
    except RecursionError as error:
        raise Unreadable("the JSON is nested too deeply") from error
    except ValueError as error:
        raise Unreadable(f"the body is not valid JSON: {error}") from error
    if "\\ud" in text.lower():
        _no_lone_surrogates(found)
    return found


def _refuse(name: str) -> float:
    raise ValueError(f"{name} is not a number in JSON")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"the number {text[:20]} is too large")
    return value


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError(f"member {_first_twice(pairs)[:50]!r} stands there twice")
    return found


def _first_twice(pairs: list[tuple[str, Any]]) -> str:
    """The first name that stands there again, in one pass: a body may hold a hundred thousand members."""
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            return name
        seen.add(name)
    raise AssertionError("the caller has found fewer names than pairs")


def _no_lone_surrogates(found: Any) -> None:
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        raise Unreadable("a text holds half of a surrogate pair") from error


class StrictJSON(BaseParser):
    """The parser of application/json."""

    media_type = "application/json"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        """Return what the body says. Raises TooLarge, Unreadable."""
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(limit + 1)
        if len(body) > limit:
            raise TooLarge(f"a body may hold {limit} bytes at most")
        try:
            text = body.decode("utf-8")
        except UnicodeDecodeError as error:
            raise Unreadable("the body is not UTF-8") from error
        return read_json(text)


class MergePatch(StrictJSON):
    """The same for RFC 7396 merge patches: null unsets, what is absent stays."""

    media_type = MERGE_PATCH
