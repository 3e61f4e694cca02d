"""Add items to a draft."""

from collections.abc import Sequence
from datetime import date, datetime

from assessments.works.actions import step
from assessments.works.items import make_items
from assessments.works.models import WorkOrder
from assessments.works.records import ItemWish
from inventory.history import Author
from inventory.problems import Conflict


def add_items(
    author: Author, order: WorkOrder, wishes: Sequence[ItemWish], *, version: int, today: date, now: datetime
) -> WorkOrder:
    """Add items while the order is a draft. Raises Stale, Conflict for an issued order, Invalid for a wrong item."""
    with author.acting(f"items added to order {order.number}"):
        locked = step.lock(order.pk, version)
        if locked.state != "draft":
            raise Conflict(f"the order is {locked.state}: it is not edited once issued")
        make_items(locked, wishes, today)
        step.touch(locked, now)
    locked.refresh_from_db()
    return locked
