"""Issue an order to its contractor; from now on it is not edited."""

from datetime import datetime

from assessments.works.actions import step
from assessments.works.actions.draft import check_contractor
from assessments.works.models import WorkOrder
from inventory.history import Author
from inventory.people.models import Organisation
from inventory.problems import Conflict, Invalid


def issue(
    author: Author, order: WorkOrder, *, version: int, now: datetime, contractor: Organisation | None = None
) -> WorkOrder:
    """Issue a draft, to the contractor it names or the one given. Raises Stale, Conflict, Invalid."""
    with author.acting(f"order {order.number} issued"):
        locked = step.lock(order.pk, version)
        to = contractor or locked.contractor
        if to is None:
            raise Invalid.field("#/contractor", "say to whom the order goes")
        check_contractor(to)
        if not locked.items.exists():
            raise Conflict("the order has no item")
        step.take(author, locked, "issue", now, contractor=to, issued_at=now)
    locked.refresh_from_db()
    return locked
