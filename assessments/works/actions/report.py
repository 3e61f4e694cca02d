"""Report an item: the contractor's fact, what follows for the item, and the change of the inventory."""

from datetime import datetime

from assessments.records import fingerprint
from assessments.works import effects, facts, rules, states
from assessments.works.actions import close, step
from assessments.works.models import ItemReport, OrderItem
from assessments.works.records import ReportRecord
from inventory import events
from inventory.history import Author
from inventory.models import Species
from inventory.problems import Invalid


def report(author: Author, item: OrderItem, record: ReportRecord, *, now: datetime) -> tuple[ItemReport, bool]:
    """Take a report in, once: the same uid and content give the stored report and False, other content Conflict.

    The caller has checked that the item is this contractor's. Raises Invalid for a report that cannot be right.
    """
    content = fingerprint(item.uid, record)
    with author.acting(f"order {item.order.number}: {item.action} reported {record.outcome}"):
        order = step.lock(item.order_id)
        stored = facts.known(ItemReport, record.uid, content)
        if stored:
            return stored, False
        locked = OrderItem.objects.select_for_update().get(pk=item.pk)
        locked.order = order
        problems = rules.report_problems(locked.action, record, now)
        if problems:
            raise Invalid.fields(problems)
        fact = _fact(author, locked, record, content)
        _conclude(author, locked, fact)
        close.settle(author, order, now)
        _tell(author, locked, fact)
    return fact, True


def _fact(author: Author, item: OrderItem, record: ReportRecord, content: str) -> ItemReport:
    species = None
    if record.species is not None:
        species = Species.objects.filter(botanical_name=record.species).first()
        if species is None:
            raise Invalid.field("#/species", f"{record.species} is not in the catalogue")
    return ItemReport(
        uid=record.uid,
        content_sha256=content,
        item=item,
        outcome=record.outcome,
        worked_at=record.worked_at,
        reason=record.reason,
        note=record.note,
        stump_ground=record.stump_ground,
        support_kind=record.support_kind,
        support_height_m=record.support_height_m,
        species=species,
        disputed="",
        reported_by_id=facts.person_id(author),
    )


def _conclude(author: Author, item: OrderItem, fact: ItemReport) -> None:
    """Find the item's state with this fact; where that is done, let the inventory follow, or take note why not."""
    if item.cancelled and item.state not in states.SETTLED - {"cancelled"}:
        fact.disputed = f"order {item.order.number} was cancelled before this report came"
    elif fact.outcome == "done" and _state(item, fact) == "done":
        fact.disputed = effects.apply(author, item, fact)
    item.state = fact.state_after = _state(item, fact)
    facts.store(fact)
    item.save(update_fields=["state", "effect"])


def _state(item: OrderItem, fact: ItemReport) -> str:
    new = rules.Reported(fact.outcome, fact.worked_at, bool(fact.disputed))
    return rules.item_state([*facts.reported(item), new], facts.judged(item), item.cancelled)


def _tell(author: Author, item: OrderItem, fact: ItemReport) -> None:
    data = {"order": item.order.number, "item": str(item.uid), "outcome": fact.outcome, "state": item.state}
    events.record(author, "item.reported", "item_report", fact.uid, tree_id=item.tree_id, data=data)
