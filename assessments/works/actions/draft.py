"""Draft an order: chosen trees become items with reasons, dates and cautions."""

from collections.abc import Sequence
from datetime import date

from assessments.works.items import make_items
from assessments.works.models import OrderCounter, WorkOrder
from assessments.works.records import ItemWish
from inventory import events
from inventory.history import Author
from inventory.people.models import Organisation
from inventory.problems import Invalid


def draft(
    author: Author,
    wishes: Sequence[ItemWish],
    *,
    due_on: date,
    today: date,
    contractor: Organisation | None = None,
    instructions: str = "",
) -> WorkOrder:
    """Make a draft. Raises Invalid naming each wrong item; a contractor may be named later, when it is issued."""
    if due_on < today:
        raise Invalid.field("#/due_on", f"{due_on} lies in the past")
    if contractor:
        check_contractor(contractor)
    with author.acting("order drafted"):
        order = WorkOrder.objects.create(
            number=next_number(today),
            contractor=contractor,
            due_on=due_on,
            instructions=instructions,
            made_by_id=author.user_id,
        )
        make_items(order, wishes, today)
        events.record(author, "order.drafted", "order", order.uid, data={"number": order.number})
    order.refresh_from_db()
    return order


def check_contractor(contractor: Organisation) -> None:
    """Orders go to contractors that still work for the city. Raises Invalid."""
    if contractor.kind != "contractor" or contractor.ended_on:
        raise Invalid.field("#/contractor", f"{contractor.name} is not a contractor that takes orders now")


def next_number(today: date) -> str:
    """The next number of the year, as 2026-0001. Locks the year's counter until the transaction ends."""
    OrderCounter.objects.bulk_create([OrderCounter(year=today.year, last=0)], ignore_conflicts=True)
    counter = OrderCounter.objects.select_for_update().get(year=today.year)
    counter.last += 1
    counter.save(update_fields=["last"])
    return f"{today.year}-{counter.last:04d}"
