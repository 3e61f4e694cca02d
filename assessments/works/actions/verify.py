"""Verify an item: the municipality accepts the work, returns it, or agrees that it stays undone."""

from datetime import datetime

from assessments.records import fingerprint
from assessments.restate import restate
from assessments.works import effects, facts, rules, states
from assessments.works.actions import close, step
from assessments.works.models import OrderItem, Verification
from assessments.works.records import VerdictRecord
from inventory import events
from inventory.calendar import municipal_date
from inventory.history import Author
from inventory.problems import Conflict, Invalid


def verify(author: Author, item: OrderItem, record: VerdictRecord, *, now: datetime) -> tuple[Verification, bool]:
    """Take a verdict in, once, as with reports. Raises Invalid, and Conflict where nothing was reported yet.

    A returned item is open again for the contractor; what the inventory took over stays, and a check is asked. Where
    a tree reported felled still stands, the inventory has it stand again.
    """
    content = fingerprint(item.uid, record)
    with author.acting(f"order {item.order.number}: {item.action} {record.verdict}"):
        order = step.lock(item.order_id)
        stored = facts.known(Verification, record.uid, content)
        if stored:
            return stored, False
        locked = OrderItem.objects.select_for_update().get(pk=item.pk)
        locked.order = order
        _check(locked, record, now)
        fact = _conclude(author, locked, record, content, now)
        if record.verdict == "accepted":
            _catch_up(author, locked)
        if record.verdict == "returned":
            if record.tree_stands:
                effects.restore(author, locked, record.note)
            _ask_check(author, locked, fact)
        locked.save(update_fields=["state", "effect"])
        close.settle(author, order, now)
        data = {"order": order.number, "item": str(item.uid), "verdict": record.verdict}
        events.record(author, "item.verified", "verification", fact.uid, tree_id=item.tree_id, data=data)
    return fact, True


def _check(item: OrderItem, record: VerdictRecord, now: datetime) -> None:
    reports = facts.reported(item)
    if not reports:
        raise Conflict("nothing was reported of this item yet")
    problems = rules.verdict_problems(record, reports, now)
    if problems:
        raise Invalid.fields(problems)
    if record.tree_stands and (record.verdict != "returned" or item.action != "remove"):
        raise Invalid.field("#/tree_stands", "is said of a felling that is returned")
    if record.verdict == "returned" and item.order.state == "cancelled":
        raise Conflict("the order was cancelled: accept what was done or agree that it stays undone")


def _conclude(author: Author, item: OrderItem, record: VerdictRecord, content: str, now: datetime) -> Verification:
    reports = facts.reported(item)
    at = rules.verdict_time(record, reports, now)
    verdicts = [*facts.judged(item), rules.Judged(record.verdict, at)]
    item.state = rules.item_state(reports, verdicts, item.cancelled)
    fact = Verification(
        uid=record.uid,
        content_sha256=content,
        item=item,
        verdict=record.verdict,
        note=record.note,
        tree_stands=record.tree_stands,
        verified_by_id=facts.person_id(author),
        verified_at=at,
        state_after=item.state,
    )
    facts.store(fact)
    return fact


def _catch_up(author: Author, item: OrderItem) -> None:
    """Work that was a variation changes the inventory once a person has accepted it, unless it shows it already."""
    done = item.reports.filter(outcome="done").order_by("-worked_at", "-id").first()
    if done is None or item.effect:
        return
    done.item = item
    refused = effects.apply(author, item, done)
    if refused:
        item.effect = f"{effects.NOTHING}: {refused}"


def _ask_check(author: Author, item: OrderItem, fact: Verification) -> None:
    why = f"{states.ACTIONS[item.action]} by order {item.order.number} was returned: {fact.note}"
    on = municipal_date(fact.verified_at)
    effects.ask_check(author, item, "after_work", on, states.RETURNED_CHECK_DAYS, why)
    restate([item.tree_id])
