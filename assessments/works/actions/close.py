"""Close an order by rule, with its last settled item; reopen it where a late report needs a person."""

from datetime import datetime

from assessments.works import rules
from assessments.works.actions import step
from assessments.works.models import WorkOrder
from inventory.history import Author


def settle(author: Author, order: WorkOrder, now: datetime) -> None:
    """Take the step that a locked order takes by itself after one of its items changed, or only note the change."""
    due = rules.order_step(order.state, list(order.items.values_list("state", flat=True)))
    if due is None:
        step.touch(order, now)
    else:
        step.take(author, order, due, now, closed_at=now if due == "close" else None)
