"""Reads of orders, scoped by who asks: the municipality all, a contractor its own once they are issued."""

import uuid

from django.db.models import Count, Prefetch, Q, QuerySet

from assessments.works import states
from assessments.works.models import ItemReport, OrderItem, Verification, WorkOrder
from inventory.people import roles
from inventory.people.models import User
from inventory.problems import Missing

# Who verifies work must be able to read what was ordered.
_ALL: frozenset[str] = frozenset({roles.FORESTER, roles.INSPECTOR, roles.AUDITOR})


def _scope(user: User, of: frozenset[str], prefix: str = "") -> Q:
    """What of the orders a person may see; an empty set for someone with neither role nor contractor."""
    if user.roles & of:
        return Q()
    own = {f"{prefix}contractor_id__in": user.contractor_ids, f"{prefix}issued_at__isnull": False}
    return Q(**own)


def orders_visible_to(user: User) -> QuerySet[WorkOrder]:
    """The orders that a person may see, each with its contractor and counts of its items."""
    return (
        WorkOrder.objects.filter(_scope(user, _ALL))
        .select_related("contractor", "made_by")
        .annotate(
            item_count=Count("items"),
            settled_count=Count("items", filter=Q(items__state__in=states.SETTLED)),
            to_verify_count=Count("items", filter=Q(items__state__in=states.TO_VERIFY)),
        )
    )


def order(user: User, uid: uuid.UUID) -> WorkOrder:
    """One order. Raises Missing, also for another contractor's."""
    found = orders_visible_to(user).filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no order {uid}")
    return found


def items(of: WorkOrder) -> QuerySet[OrderItem]:
    """The items of an order with their trees, reports and verdicts, in a fixed number of queries."""
    return (
        OrderItem.objects.filter(order=of)
        .select_related("tree__species", "tree__site", "tree__zone", "finding")
        .prefetch_related(
            Prefetch("reports", ItemReport.objects.select_related("species", "reported_by").order_by("id")),
            Prefetch("verifications", Verification.objects.select_related("verified_by").order_by("id")),
        )
        .order_by("id")
    )


def item_to_report(user: User, uid: uuid.UUID) -> OrderItem:
    """One item of a contractor's own order. Raises Missing, also for another contractor's."""
    return _item(OrderItem.objects.filter(_scope(user, frozenset(), "order__")), uid)


def item_to_verify(user: User, uid: uuid.UUID) -> OrderItem:
    """One item that someone of the municipality may judge. Raises Missing."""
    return _item(OrderItem.objects.filter(_scope(user, _ALL, "order__")), uid)


def _item(among: QuerySet[OrderItem], uid: uuid.UUID) -> OrderItem:
    found = among.select_related("order", "tree").filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no order item {uid}")
    return found


def tree_ids_of_contractor(user: User) -> QuerySet[OrderItem, int]:
    """The trees of a contractor's own orders: of these it may see more than the public does."""
    own = OrderItem.objects.filter(_scope(user, frozenset(), "order__"))
    return own.values_list("tree_id", flat=True).distinct()
