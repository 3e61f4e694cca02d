"""Two devices, two desks, one order: real threads against the real database."""

import threading
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import pytest
from django.db import connection

from assessments.works import actions
from assessments.works.models import ItemReport, OrderItem, WorkOrder
from assessments.works.records import ItemWish, ReportRecord
from inventory.history import SERVICE
from inventory.models import Event, Municipality, Support, Tree
from inventory.problems import Conflict, Refusal
from tests.support import build, inspections, orders

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _city(transactional_db: None) -> Municipality:
    return build.municipality()


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """Run calls in threads that start together; return what each gave or raised."""
    barrier = threading.Barrier(len(calls))
    results: list[Any] = [None] * len(calls)

    def run(place: int, call: Callable[[], Any]) -> None:
        try:
            barrier.wait(timeout=10)
            results[place] = call()
        except Exception as error:
            results[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert not any(thread.is_alive() for thread in threads)
    return results


def reporting(
    crew: orders.Crew, item: OrderItem, said: ReportRecord, now: datetime = orders.MORNING
) -> Callable[[], Any]:
    return lambda: actions.report(crew.author, item, said, now=now)


def test_two_devices_report_one_item_at_once() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "install_support", tree)
    said = [orders.said(hours=hours, support_kind="cable", support_height_m=8) for hours in (0, 1)]
    later = orders.MORNING + timedelta(hours=2)
    results = at_once(*(reporting(crew, item, one, later) for one in said))
    assert [created for _, created in results] == [True, True]
    assert ItemReport.objects.filter(item=item).count() == 2
    assert Support.objects.filter(tree=tree).count() == 1
    assert orders.state(item) == "done"


def test_one_report_sent_by_four_threads_is_one_fact() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    said = orders.said()
    results = at_once(*[lambda: actions.report(crew.author, item, said, now=orders.MORNING)] * 4)
    assert sorted(created for _, created in results) == [False, False, False, True]
    assert len({fact.pk for fact, _ in results}) == 1
    assert Event.objects.filter(kind="tree.removed", tree=tree).count() == 1


def test_done_and_not_possible_at_once_lose_neither() -> None:
    crew = orders.crew()
    item = orders.item(crew, "clean_crown")
    said = [orders.said("done"), orders.said("not_possible")]
    at_once(*(reporting(crew, item, one) for one in said))
    assert set(item.reports.values_list("outcome", flat=True)) == {"done", "not_possible"}
    assert orders.state(item) == "variation"


def test_the_last_two_items_verified_at_once_close_the_order() -> None:
    crew = orders.crew()
    order = orders.issued([build.tree(), build.tree(20)], crew, "raise_crown")
    items = list(order.items.order_by("id"))
    for item in items:
        orders.report(crew, item)
    results = at_once(*(partial(orders.judge, item) for item in items))
    assert not [result for result in results if isinstance(result, Exception)]
    assert orders.order_state(items[0]) == "closed"


def test_an_order_is_cancelled_while_a_crew_reports() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    order = WorkOrder.objects.get(pk=item.order_id)
    cancelled, reported = at_once(
        lambda: actions.cancel(SERVICE, order, reason="no money", version=order.version, now=orders.MORNING),
        lambda: actions.report(crew.author, item, orders.said(), now=orders.MORNING),
    )
    assert not isinstance(reported, Exception)
    tree.refresh_from_db()
    # Whichever came first, the report is kept; the desk either cancelled before it or must look again.
    if isinstance(cancelled, Refusal):
        assert (cancelled.kind, orders.state(item), tree.state) == ("stale", "done", "stump")
    else:
        assert (orders.state(item), tree.state) == ("variation", "alive")


def test_two_desks_issue_one_draft_and_one_is_told_so() -> None:
    crew = orders.crew()
    order = orders.draft([build.tree()], to=crew)
    results = at_once(*[lambda: actions.issue(SERVICE, order, version=order.version, now=orders.MORNING)] * 2)
    assert sorted(type(result).__name__ for result in results) == ["Stale", "WorkOrder"]
    assert Event.objects.filter(kind="order.issued").count() == 1


def test_orders_drafted_at_once_have_numbers_of_their_own() -> None:
    tree = build.tree()
    author = orders.forester()

    def make() -> str:
        wishes = [ItemWish(tree=tree.uid, action="raise_crown")]
        return actions.draft(author, wishes, due_on=orders.DAY, today=orders.DAY).number

    assert sorted(at_once(*[make] * 4)) == ["2026-0001", "2026-0002", "2026-0003", "2026-0004"]


def test_an_emergency_read_twice_at_once_makes_one_order() -> None:
    inspection = inspections.inspected(build.tree(), emergency=True)
    results = at_once(
        *[lambda: actions.open_emergency_order(SERVICE, inspection, today=orders.DAY, now=orders.MORNING)] * 3
    )
    assert len({order.pk for order in results}) == 1
    assert WorkOrder.objects.count() == 1


def test_one_uid_for_two_items_at_once_is_taken_by_one_of_them() -> None:
    crew = orders.crew()
    one, other = (orders.item(crew, "raise_crown", build.tree(east)) for east in (0, 20))
    said = orders.said(uid=uuid.uuid4())
    results = at_once(*(reporting(crew, item, said) for item in (one, other)))
    assert sum(isinstance(result, Conflict) for result in results) == 1
    assert sorted([orders.state(one), orders.state(other)]) == ["done", "open"]
    assert ItemReport.objects.count() == 1


def test_a_tree_felled_by_two_orders_at_once_is_felled_once() -> None:
    crew = orders.crew()
    tree = build.tree()
    one, other = (orders.item(crew, "remove", tree) for _ in range(2))
    at_once(*(reporting(crew, item, orders.said()) for item in (one, other)))
    assert sorted([orders.state(one), orders.state(other)]) == ["done", "variation"]
    assert Event.objects.filter(kind="tree.removed", tree=tree).count() == 1
    assert Tree.objects.get(pk=tree.pk).state == "stump"
