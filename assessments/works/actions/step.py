"""How an order takes a step: locked first, the version compared under the lock, the state machine asked."""

from datetime import datetime
from typing import Any

from assessments.works import rules, states
from assessments.works.models import WorkOrder
from inventory import events
from inventory.history import Author
from inventory.problems import Conflict, Stale


def lock(order_id: int, version: int | None = None) -> WorkOrder:
    """Lock an order, before any of its items or trees. Raises Stale where another version was read."""
    order = WorkOrder.objects.select_for_update().get(pk=order_id)
    if version is not None and order.version != version:
        raise Stale(f"you read version {version}; the order is now version {order.version}")
    return order


def take(author: Author, order: WorkOrder, step: str, now: datetime, **changes: Any) -> None:
    """Take a step with a locked order and tell it. Raises Conflict where its state does not allow it."""
    problem = rules.step_problem(order.state, step)
    if problem:
        raise Conflict(problem)
    order.state = states.ORDER_STEPS[step][1]
    touch(order, now, state=order.state, **changes)
    events.record(author, f"order.{order.state}", "order", order.uid, data={"number": order.number})


def touch(order: WorkOrder, now: datetime, **changes: Any) -> None:
    """Write changes of a locked order; counting them moves its version also where only an item changed."""
    for name, value in ({"changed_at": now, "changes": order.changes + 1} | changes).items():
        setattr(order, name, value)
    order.save(update_fields=["changed_at", "changes", *changes])
