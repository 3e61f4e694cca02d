"""Builders for orders: each goes through the actions, as a desk or a crew would."""

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.utils import timezone

from assessments.works import actions
from assessments.works.models import ItemReport, OrderItem, Verification, WorkOrder
from assessments.works.records import ItemWish, ReportRecord, VerdictRecord
from inventory.history import Author
from inventory.models import Tree
from inventory.people.models import Organisation, User
from tests.support import build

DAY = date(2026, 11, 25)
MORNING = datetime(2026, 11, 25, 8, tzinfo=UTC)


@dataclass(frozen=True)
class Crew:
    """A contractor and the person who reports for it."""

    organisation: Organisation
    user: User

    @property
    def author(self) -> Author:
        """The author of what the crew reports."""
        return Author(self.user.pk, "crew")


def crew() -> Crew:
    """A contractor with one person."""
    organisation = build.organisation("contractor")
    return Crew(organisation, build.user("contractor", organisation))


def forester() -> Author:
    """The author of what a forester does."""
    return Author(build.user("forester").pk, "desk")


def draft(trees: list[Tree], action: str = "remove", to: Crew | None = None, **fields: Any) -> WorkOrder:
    """A draft with one item a tree."""
    wishes = [ItemWish(tree=tree.uid, action=action) for tree in trees]
    contractor = to.organisation if to else None
    due_on = DAY + timedelta(days=30)
    return actions.draft(forester(), wishes, due_on=due_on, today=DAY, contractor=contractor, **fields)


def issued(trees: list[Tree], to: Crew, action: str = "remove") -> WorkOrder:
    """The same, issued."""
    order = draft(trees, action, to)
    return actions.issue(forester(), order, version=order.version, now=MORNING)


def item(to: Crew, action: str = "remove", tree: Tree | None = None) -> OrderItem:
    """The one item of an issued order."""
    return issued([tree or build.tree()], to, action).items.get()


def said(outcome: str = "done", hours: float = 0, **fields: Any) -> ReportRecord:
    """A report of work so many hours after the morning."""
    if outcome == "not_possible":
        fields.setdefault("reason", "a car stood under it")
    fields.setdefault("uid", uuid.uuid4())
    return ReportRecord(outcome=outcome, worked_at=MORNING + timedelta(hours=hours), **fields)


def report(by: Crew, on: OrderItem, outcome: str = "done", hours: float = 0, **fields: Any) -> ItemReport:
    """Report an item."""
    return actions.report(by.author, on, said(outcome, hours, **fields), now=_now())[0]


def judge(
    on: OrderItem, verdict: str = "accepted", hours: float = 4, note: str = "seen on site", *, tree_stands: bool = False
) -> Verification:
    """Decide of an item, so many hours after the morning."""
    at = MORNING + timedelta(hours=hours)
    record = VerdictRecord(uid=uuid.uuid4(), verdict=verdict, note=note, verified_at=at, tree_stands=tree_stands)
    return actions.verify(forester(), on, record, now=_now())[0]


def state(on: OrderItem) -> str:
    """The state of an item now."""
    return str(OrderItem.objects.values_list("state", flat=True).get(pk=on.pk))


def order_state(of: OrderItem) -> str:
    """The state of an item's order now."""
    return str(WorkOrder.objects.values_list("state", flat=True).get(pk=of.order_id))


def _now() -> datetime:
    """Late enough that nothing above lies in the future, whenever the suite runs."""
    return max(timezone.now(), MORNING + timedelta(days=2))
