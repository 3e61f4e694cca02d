"""Keyset paging: lists walk a key, so that nothing is skipped or repeated while rows change."""

import base64
import json
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

from django.db import models
from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.http.params import Param

M = TypeVar("M", bound=models.Model)
T = TypeVar("T")
DEFAULT: Final = 100
LARGEST: Final = 1000
_WHOLE = re.compile(r"-?[0-9]{1,18}")


def encode(*values: int | float | str | None) -> str:
    """An opaque cursor of the key values of the last row shown."""
    return base64.urlsafe_b64encode(json.dumps(values, separators=(",", ":")).encode()).decode().rstrip("=")


def decode(cursor: str, *kinds: type) -> list[Any]:
    """The key values of a cursor. Raises ValueError where it is not one that `encode` made of these kinds."""
    try:
        values = json.loads(base64.b64decode(cursor + "=" * (-len(cursor) % 4), b"-_", validate=True))
    except (ValueError, RecursionError):  # nested more deeply than any cursor of ours
        values = None
    if (
        not isinstance(values, list)
        or len(values) != len(kinds)
        or not all(type(value) is kind for value, kind in zip(values, kinds, strict=True))
        or encode(*values) != cursor
        or any(type(value) is int and abs(value) >= 2**63 for value in values)
    ):
        raise ValueError("is not a cursor of this list")
    return values


def _limit(text: str) -> int:
    if not _WHOLE.fullmatch(text) or int(text) < 1:
        raise ValueError("must be a whole number, 1 or more")
    return min(int(text), LARGEST)


LIMIT: Final = Param(
    "limit",
    _limit,
    {"type": "integer", "minimum": 1, "default": DEFAULT},
    f"Items a page; more than {LARGEST} count as {LARGEST}.",
    DEFAULT,
)


def after(*kinds: type) -> Param:
    """The parameter `after` of a list whose key has values of these kinds."""
    return Param(
        "after",
        lambda text: decode(text, *kinds),
        {"type": "string", "maxLength": 500},
        "Where to go on: only ever taken from the `next` of an earlier page.",
    )


AFTER: Final = after(int)
PAGING: Final = (LIMIT, AFTER)


@dataclass(frozen=True)
class Page(Generic[T]):
    """The rows of one page and the cursor of the next one (None: this is the last)."""

    rows: list[T]
    cursor: str | None


def page(rows: QuerySet[M], query: dict[str, Any]) -> Page[M]:
    """The page of a queryset by its bigint key, ascending, for parameters read with PAGING."""
    if query["after"]:
        rows = rows.filter(pk__gt=query["after"][0])
    found = list(rows.order_by("pk")[: query["limit"] + 1])
    return cut(found, query["limit"], lambda row: encode(row.pk))


def cut(found: Sequence[T], limit: int, cursor: Callable[[T], str]) -> Page[T]:
    """The page of rows read with one row too many, for lists with a key of their own."""
    rows = list(found[:limit])
    return Page(rows, cursor(rows[-1]) if len(found) > limit else None)


def answer(request: Request, items: Iterable[Any], cursor: str | None, **more: Any) -> Response:
    """`{"items": [...], "next": url or null}` with the same link as RFC 8288 header."""
    link = None
    if cursor is not None:
        following = request.query_params.copy()
        following["after"] = cursor
        link = request.build_absolute_uri(f"{request.path}?{following.urlencode()}")
    response = Response({"items": list(items), "next": link, **more})
    if link:
        response["Link"] = f'<{link}>; rel="next"; type="application/json"'
    return response
