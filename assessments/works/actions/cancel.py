"""Cancel an order: what was not done yet is no longer wanted; what was reported done stays to be verified."""

from datetime import datetime

from assessments.works.actions import step
from assessments.works.models import OrderItem, WorkOrder
from inventory.history import Author
from inventory.problems import Invalid

CANCELLED_WITH_THE_ORDER = ("open", "returned", "not_possible")


def cancel(author: Author, order: WorkOrder, *, reason: str, version: int, now: datetime) -> WorkOrder:
    """Cancel a draft or running order with a reason. Raises Stale, Conflict, Invalid."""
    if not reason.strip():
        raise Invalid.field("#/reason", "say why")
    with author.acting(f"order {order.number} cancelled: {reason}"):
        locked = step.lock(order.pk, version)
        step.take(author, locked, "cancel", now, cancelled_at=now, cancel_reason=reason)
        OrderItem.objects.filter(order=locked, state__in=CANCELLED_WITH_THE_ORDER).update(
            state="cancelled", cancelled=True
        )
    locked.refresh_from_db()
    return locked
