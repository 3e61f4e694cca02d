"""Accept an order: the contractor says that it will do the work."""

from datetime import datetime

from assessments.works import facts
from assessments.works.actions import step
from assessments.works.models import WorkOrder
from inventory.history import Author
from inventory.people.models import User
from inventory.problems import NotAllowed


def accept(author: Author, order: WorkOrder, *, version: int, now: datetime) -> WorkOrder:
    """Accept an issued order. Raises NotAllowed for all but its contractor's people, Stale, Conflict.

    A person of two roles may see more orders than it may promise work on.
    """
    if order.contractor_id not in User.objects.get(pk=facts.person_id(author)).contractor_ids:
        raise NotAllowed("only the contractor whom the order goes to accepts it")
    with author.acting(f"order {order.number} accepted"):
        locked = step.lock(order.pk, version)
        step.take(author, locked, "accept", now, accepted_at=now)
    locked.refresh_from_db()
    return locked
