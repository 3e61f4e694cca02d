"""Tells the duty forester of emergency orders by e-mail; what was not sent is sent again later."""

import structlog
from django.core.mail import send_mail
from django.db.models.functions import Now

from assessments.works import states
from assessments.works.models import WorkOrder
from inventory import events, queries
from inventory.history import SERVICE

logger = structlog.get_logger(__name__)


def page_waiting() -> int:
    """Send the mail of each emergency order whose duty forester was not told yet; return how many were sent.

    For the scheduler, and called after the commit that opens an order. Each order is locked while its mail is sent,
    so that two callers do not both send; a crash in between may send it twice, never not at all.
    """
    address = queries.municipality().duty_email
    sent = 0
    while address and _page_next(address):
        sent += 1
    return sent


def page_waiting_quietly() -> None:
    """The same, for the end of a request: a mail server that is away fails nobody's request, it only delays."""
    try:
        page_waiting()
    except Exception:
        logger.exception("duty_mail_failed")


def _page_next(address: str) -> bool:
    waiting = WorkOrder.objects.filter(pages_duty=True, paged_at=None).order_by("id")
    with SERVICE.acting("duty forester paged"):
        order = waiting.select_for_update(skip_locked=True, of=("self",)).select_related("contractor").first()
        if order is None:
            return False
        send_mail(f"Emergency order {order.number}", _text(order), None, [address])
        WorkOrder.objects.filter(pk=order.pk).update(paged_at=Now())
        events.record(SERVICE, "duty.paged", "order", order.uid, data={"number": order.number, "address": address})
    return True


def _text(order: WorkOrder) -> str:
    to = f"issued to {order.contractor}" if order.state != "draft" and order.contractor else "not issued to anyone yet"
    lines = [f"Emergency order {order.number}, {to}."]
    for item in order.items.select_related("tree__site"):
        place = item.tree.site or f"{item.tree.location.y:.6f}, {item.tree.location.x:.6f}"
        lines += ["", f"Tree {item.tree} at {place}: {states.ACTIONS[item.action]}.", item.reason, *item.cautions]
    return "\n".join([*lines, "", states.CAUTION])
