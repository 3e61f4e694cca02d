"""Pages of a list by key: the next page starts after the last key, so no page is counted or skipped through."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import Model, QuerySet
from django.http import HttpRequest

from inventory.problems import Invalid

M = TypeVar("M", bound=Model)
SIZE = 50
MOST_COUNTED = 10_000


@dataclass(frozen=True)
class Page(Generic[M]):
    """Some rows of a list; `after` is the key of the next page (None: this is the last one)."""

    rows: Sequence[M]
    after: int | None
    first: bool
    count: str


def cursor(request: HttpRequest) -> int | None:
    """Read the key after which the page starts. Raises Invalid."""
    text = request.GET.get("after", "")
    if not text:
        return None
    if not text.isascii() or not text.isdigit() or len(text) > 18:
        raise Invalid.field("#/after", "must be a whole number")
    return int(text)


def by_key(rows: "QuerySet[M, Any]", after: int | None, *, newest_first: bool = False) -> "Page[M]":
    """Give one page of a query set, in the order of its key."""
    ordered = rows.order_by("-pk" if newest_first else "pk")
    if after is not None:
        ordered = ordered.filter(**{"pk__lt" if newest_first else "pk__gt": after})
    found = list(ordered[: SIZE + 1])
    more = len(found) > SIZE
    return Page(found[:SIZE], found[SIZE - 1].pk if more else None, after is None, count(rows))


def count(rows: "QuerySet[Any, Any]") -> str:
    """Say how many rows there are, without counting beyond MOST_COUNTED."""
    found = rows.order_by()[: MOST_COUNTED + 1].count()
    return f"more than {MOST_COUNTED:,}" if found > MOST_COUNTED else f"{found:,}"
