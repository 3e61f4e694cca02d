"""Accept an order: the contractor says that it will do the work."""

from datetime import datetime

from assessments.works.actions import step
from assessments.works.models import WorkOrder
from inventory.history import Author


def accept(author: Author, order: WorkOrder, *, version: int, now: datetime) -> WorkOrder:
    """Accept an issued order. Raises Stale, Conflict."""
    with author.acting(f"order {order.number} accepted"):
        locked = step.lock(order.pk, version)
        step.take(author, locked, "accept", now, accepted_at=now)
    locked.refresh_from_db()
    return locked
