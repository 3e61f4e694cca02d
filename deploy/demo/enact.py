"""Lets the invented years happen through the real services: inspections many at once, orders step by step."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Final

from assessments import services
from assessments.models import Inspection
from assessments.records import InspectionRecord
from assessments.works import actions
from assessments.works.models import OrderItem, WorkOrder
from assessments.works.records import ItemWish, ReportRecord, VerdictRecord
from deploy.demo import days, people, story, weather
from deploy.demo.chronicle import Chapter, Chronicle
from deploy.demo.looks import Look
from deploy.demo.orders import ItemPlan, OrderPlan
from inventory.history import Author
from inventory.models import Tree
from inventory.people.models import Organisation

Deed = tuple[datetime, Callable[[], None]]
_VERIFIED_AFTER: Final = timedelta(days=5)


@dataclass
class Stage:
    """Who acts, on which trees, up to which day."""

    authors: Mapping[str, Author]
    trees: Mapping[str, Tree]
    reference: date
    contractors: dict[str, Organisation] = field(default_factory=dict)

    def contractor(self, key: str) -> Organisation:
        """The organisation of a contractor."""
        if key not in self.contractors:
            self.contractors[key] = people.organisation_of(key)
        return self.contractors[key]


def enact(stage: Stage, chronicle: Chronicle, extra: list[OrderPlan]) -> None:
    """Play the chapters in order. In each, the order goes first: what it rests on was seen in an earlier chapter."""
    for chapter in chronicle.chapters:
        if chapter.order and chapter.order.cause:
            _emergency(stage, chapter.order.cause)
            _carry_out(_deeds(stage, chapter.order, _open))
        elif chapter.order:
            _carry_out(_deeds(stage, chapter.order, _draft))
        _record(stage, chapter)
    for order in extra:
        carry_out(stage, order)
    for check in story.CHECKS:
        due_on = stage.reference + timedelta(days=check.in_days)
        tree, uid = stage.trees[check.tag], days.key("check", check.tag)
        services.ask_check(
            stage.authors["forester"], tree, kind=check.kind, due_on=due_on, why=check.why, source=check.source, uid=uid
        )


def carry_out(stage: Stage, order: OrderPlan) -> None:
    """Draft an order and take it as far as it came."""
    _carry_out(_deeds(stage, order, _draft))


def _record(stage: Stage, chapter: Chapter) -> None:
    """Record many looks at once, each tree once a time: what continues an earlier finding comes after it."""
    times: Counter[str] = Counter()
    by_turn: dict[tuple[int, str], list[tuple[Tree, InspectionRecord]]] = defaultdict(list)
    for look in chapter.looks:
        times[look.tag] += 1
        tree = stage.trees[look.tag]
        record = weather.as_suggested(tree, look.record, stage.reference)
        by_turn[times[look.tag], look.inspector].append((tree, record))
    for (_, inspector), entries in sorted(by_turn.items(), key=lambda one: one[0]):
        services.record_inspections(stage.authors[inspector], entries, stage.reference)


def _emergency(stage: Stage, look: Look) -> None:
    seen = look.record.inspected_at
    author = stage.authors[look.inspector]
    now = seen + timedelta(minutes=40)
    services.record_inspection(author, stage.trees[look.tag], look.record, stage.reference, now=now)


def _carry_out(deeds: Iterator[Deed]) -> None:
    for _, deed in sorted(deeds, key=lambda one: one[0]):
        deed()


@dataclass
class _Running:
    """An order on its way: the row as it was last read."""

    plan: OrderPlan
    row: WorkOrder


Begin = Callable[[Stage, OrderPlan], WorkOrder]


def _deeds(stage: Stage, plan: OrderPlan, begin: Begin) -> Iterator[Deed]:
    """What is done with an order, each with its time; nothing is done before the first of them is asked for."""
    order = _Running(plan, begin(stage, plan))
    forester, crew = stage.authors["forester"], stage.authors[plan.contractor]
    if plan.step in ("issued", "accepted") and plan.cause is None:
        yield _step(order, days.at(plan.placed, "issued") + timedelta(hours=2), actions.issue, forester)
    if plan.step == "accepted":
        yield _step(order, _accepted_at(plan), actions.accept, crew)
    if plan.step == "cancelled":
        yield _cancel(order, days.at(plan.placed + timedelta(days=6)), forester)
    for item in plan.items:
        yield from _item_deeds(stage, order, item, crew)


def _accepted_at(plan: OrderPlan) -> datetime:
    if plan.cause:
        return plan.cause.record.inspected_at + timedelta(hours=1)
    return days.at(plan.accepted_on, "accepted") + timedelta(hours=1)


def _draft(stage: Stage, plan: OrderPlan) -> WorkOrder:
    forester, made_at = stage.authors["forester"], days.at(plan.placed, "drafted")
    wishes = [ItemWish(stage.trees[item.tag].uid, item.action, finding=item.finding) for item in plan.items]
    with forester.acting("order drafted"):
        order = actions.draft(
            forester,
            wishes,
            due_on=plan.due_on,
            today=plan.placed,
            contractor=stage.contractor(plan.contractor),
            instructions=plan.instructions,
        )
        WorkOrder.objects.filter(pk=order.pk).update(made_at=made_at, changed_at=made_at)
    order.refresh_from_db()
    return order


def _open(stage: Stage, plan: OrderPlan) -> WorkOrder:
    """The emergency order; its duty forester was told in the story, so no mail goes out."""
    assert plan.cause is not None  # noqa: S101 (told by the plan)
    inspection = Inspection.objects.select_related("tree").get(uid=plan.cause.record.uid)
    author, now = stage.authors[plan.cause.inspector], inspection.inspected_at + timedelta(minutes=40)
    with author.acting("emergency order opened"):
        order = actions.open_emergency_order(author, inspection, today=plan.placed, now=now)
        if order is None:
            raise LookupError(f"no emergency order was opened for {plan.cause.tag}")
        WorkOrder.objects.filter(pk=order.pk).update(made_at=now, changed_at=now, paged_at=now)
    order.refresh_from_db()
    return order


def _step(order: _Running, when: datetime, verb: Callable[..., WorkOrder], author: Author) -> Deed:
    def deed() -> None:
        order.row.refresh_from_db()
        order.row = verb(author, order.row, version=order.row.version, now=when)

    return when, deed


def _cancel(order: _Running, when: datetime, forester: Author) -> Deed:
    def deed() -> None:
        order.row.refresh_from_db()
        actions.cancel(
            forester, order.row, reason="the budget of the quarter is spent", version=order.row.version, now=when
        )

    return when, deed


def _item_deeds(stage: Stage, order: _Running, item: ItemPlan, crew: Author) -> Iterator[Deed]:
    if item.worked_on is None:
        return
    worked_at = max(days.at(item.worked_on, item.tag), _accepted_at(order.plan) + timedelta(hours=1))
    yield worked_at, lambda: _report(stage, order, item, crew, worked_at)
    if item.verdict:
        verified_at = worked_at + _VERIFIED_AFTER
        yield verified_at, lambda: _verify(stage, order, item, verified_at)


def _row(stage: Stage, order: _Running, item: ItemPlan) -> OrderItem:
    return OrderItem.objects.select_related("order").get(
        order=order.row, tree=stage.trees[item.tag], action=item.action
    )


def _report(stage: Stage, order: _Running, item: ItemPlan, crew: Author, when: datetime) -> None:
    supports = item.action == "install_support"
    record = ReportRecord(
        uid=days.key("report", order.plan.name, item.tag),
        outcome=item.outcome,
        worked_at=when,
        reason="" if item.outcome == "done" else "a parked building crane blocked the place for weeks",
        stump_ground=item.stump_ground and item.outcome == "done",
        support_kind="cable" if supports and item.outcome == "done" else None,
        support_height_m=8.5 if supports and item.outcome == "done" else None,
        species=item.species,
    )
    actions.report(crew, _row(stage, order, item), record, now=when + timedelta(minutes=30))


_NOTES: Final = {"returned": "stubs were left: cut back to the branch collar", "not_done": "ordered again next season"}


def _verify(stage: Stage, order: _Running, item: ItemPlan, when: datetime) -> None:
    verdict = str(item.verdict)
    record = VerdictRecord(
        uid=days.key("verdict", order.plan.name, item.tag),
        verdict=verdict,
        note=_NOTES.get(verdict, ""),
        verified_at=when,
    )
    actions.verify(stage.authors["inspector"], _row(stage, order, item), record, now=when)
