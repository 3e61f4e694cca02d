"""Open an emergency order for what an inspection found: it goes first, to the emergency contractor at once."""

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from assessments.models import Inspection
from assessments.works import paging
from assessments.works.actions import step
from assessments.works.actions.draft import next_number
from assessments.works.items import make_items
from assessments.works.models import WorkOrder
from assessments.works.records import ItemWish
from inventory import calendar, events, queries
from inventory.history import Author
from inventory.models import Event
from inventory.models.tree import STANDING


def open_order(event: Event) -> None:
    """Act on the news `emergency.raised`, in the name of who recorded the inspection. For the drain of events."""
    inspection = Inspection.objects.select_related("tree").get(uid=str(event.subject_uid))
    author = Author(event.actor_id, event.request)
    open_emergency_order(
        author, inspection, today=calendar.today(), now=timezone.now(), late=bool(event.data.get("late"))
    )


def open_emergency_order(
    author: Author, inspection: Inspection, *, today: date, now: datetime, late: bool = False
) -> WorkOrder | None:
    """Open the emergency order of an inspection, once: a second call returns the first order.

    Issued at once where the municipality names an emergency contractor, else a draft; the duty forester is paged
    after commit. One that came `late` stays a draft and pages nobody: a person decides. None where the tree has been
    felled meanwhile.
    """
    with author.acting(f"emergency at inspection {inspection.uid}"):
        # Locked, so that two callers make one order.
        Inspection.objects.select_for_update(no_key=True).get(pk=inspection.pk)
        existing = WorkOrder.objects.filter(inspection=inspection).first()
        if existing:
            return existing
        if inspection.tree.state not in STANDING:
            events.record(author, "emergency.past", "inspection", inspection.uid, tree_id=inspection.tree_id)
            return None
        order = _make(author, inspection, today, pages_duty=not late)
        if not late:
            _issue(author, order, now)
        transaction.on_commit(paging.page_waiting_quietly)
    order.refresh_from_db()
    return order


def _make(author: Author, inspection: Inspection, today: date, *, pages_duty: bool) -> WorkOrder:
    order = WorkOrder.objects.create(
        number=next_number(today),
        emergency=True,
        pages_duty=pages_duty,
        inspection=inspection,
        due_on=today,
        instructions="Emergency: make the place safe first.",
        made_by_id=author.user_id,
    )
    order.refresh_from_db()
    make_items(order, [ItemWish(tree=inspection.tree.uid, action="make_safe", reason=_reason(inspection))], today)
    events.record(
        author,
        "emergency.opened",
        "order",
        order.uid,
        tree_id=inspection.tree_id,
        data={"number": order.number, "inspection": str(inspection.uid)},
    )
    return order


def _issue(author: Author, order: WorkOrder, now: datetime) -> None:
    contractor = queries.municipality().emergency_contractor
    if contractor and contractor.kind == "contractor" and not contractor.ended_on:
        step.take(author, order, "issue", now, contractor=contractor, issued_at=now)


def _reason(inspection: Inspection) -> str:
    cause = {"imminent_failure": "imminent failure", "extreme_risk": "extreme risk"}
    said = f"Emergency: {cause.get(inspection.emergency, 'reported by the inspector')}"
    return f"{said}. {inspection.note}".strip()
