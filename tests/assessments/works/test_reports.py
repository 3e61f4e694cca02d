"""Reports and verdicts on stored orders: late, twice, disputed, of another contractor."""

import uuid
from dataclasses import replace
from datetime import timedelta, timezone

import pytest
from django.apps import apps

from assessments.models import RequiredCheck
from assessments.works import actions, queries
from assessments.works.models import ItemReport, OrderItem, WorkOrder
from assessments.works.records import VerdictRecord
from inventory import services
from inventory.history import SERVICE, Author
from inventory.models import Event
from inventory.people.models import Membership
from inventory.problems import Conflict, Invalid, Missing, NotAllowed
from tests.support import build, orders

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_the_same_uid_and_content_give_the_stored_report_for_ever() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    record = orders.said()
    first, created = actions.report(crew.author, item, record, now=orders.MORNING)
    orders.judge(item)
    again, created_again = actions.report(crew.author, item, record, now=orders.MORNING + timedelta(days=31))
    assert (created, created_again) == (True, False)
    assert (again.pk, again.state_after) == (first.pk, "done")
    assert ItemReport.objects.count() == 1
    assert orders.state(item) == "verified"


def test_the_same_instant_in_another_zone_is_the_same_content() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    record = orders.said()
    moved = record.worked_at.astimezone(timezone(timedelta(hours=2)))
    actions.report(crew.author, item, record, now=orders.MORNING)
    assert actions.report(crew.author, item, replace(record, worked_at=moved), now=orders.MORNING)[1] is False


def test_the_same_uid_with_other_content_is_refused_and_changes_nothing() -> None:
    crew = orders.crew()
    item = orders.item(crew, "raise_crown")
    record = orders.said()
    actions.report(crew.author, item, record, now=orders.MORNING)
    with pytest.raises(Conflict, match="another content"):
        actions.report(crew.author, item, replace(record, note="other"), now=orders.MORNING)
    assert ItemReport.objects.get().note == ""


def test_the_same_uid_for_another_item_is_refused() -> None:
    crew = orders.crew()
    order = orders.issued([build.tree(), build.tree(20)], crew)
    one, other = order.items.order_by("id")
    record = orders.said()
    actions.report(crew.author, one, record, now=orders.MORNING)
    with pytest.raises(Conflict):
        actions.report(crew.author, other, record, now=orders.MORNING)
    assert orders.state(other) == "open"


def test_reports_may_come_in_any_order() -> None:
    crew = orders.crew()
    item = orders.item(crew, "clean_crown")
    orders.report(crew, item, "done", hours=2)
    orders.report(crew, item, "not_possible", hours=1)
    assert orders.state(item) == "done"


def test_not_possible_after_done_is_a_variation_for_a_person() -> None:
    crew = orders.crew()
    item = orders.item(crew, "clean_crown")
    orders.report(crew, item, "done", hours=1)
    orders.report(crew, item, "not_possible", hours=2)
    assert orders.state(item) == "variation"
    orders.judge(item, "not_done")
    assert (orders.state(item), orders.order_state(item)) == ("not_done", "closed")


def test_returned_work_is_open_again_and_a_check_is_asked() -> None:
    crew = orders.crew()
    item = orders.item(crew, "water")
    orders.report(crew, item, "done", hours=1)
    orders.judge(item, "returned", hours=2, note="the stake is loose")
    assert orders.state(item) == "returned"
    check = RequiredCheck.objects.get(tree=item.tree)
    assert (check.kind, check.source) == ("after_work", "order")
    assert "the stake is loose" in check.why
    orders.report(crew, item, "done", hours=3)
    orders.judge(item, "accepted", hours=4)
    assert (orders.state(item), orders.order_state(item)) == ("verified", "closed")


def test_an_order_closes_with_its_last_item_and_reopens_for_work_reported_later() -> None:
    crew = orders.crew()
    order = orders.issued([build.tree(), build.tree(20)], crew, "raise_crown")
    one, other = order.items.order_by("id")
    orders.report(crew, one)
    orders.judge(one)
    assert orders.order_state(one) == "issued"
    orders.report(crew, other)
    orders.judge(other)
    assert orders.order_state(one) == "closed"
    orders.report(crew, one, hours=9)
    assert (orders.state(one), orders.order_state(one)) == ("variation", "accepted")
    orders.judge(one, hours=10)
    assert orders.order_state(one) == "closed"


def test_a_report_on_a_cancelled_order_is_kept_and_a_person_decides() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    order = WorkOrder.objects.get(pk=item.order_id)
    actions.cancel(
        orders.forester(),
        order,
        reason="kept after all",
        version=order.version,
        now=orders.MORNING + timedelta(hours=1),
    )
    assert orders.state(item) == "cancelled"
    fact = orders.report(crew, item, "done", hours=0)
    assert "cancelled" in fact.disputed
    assert orders.state(item) == "variation"
    tree.refresh_from_db()
    assert tree.state == "alive"
    orders.judge(item, "accepted")
    tree.refresh_from_db()
    assert (orders.state(item), tree.state) == ("verified", "stump")


def test_a_report_on_a_tree_that_was_felled_meanwhile_is_a_variation_not_a_crash() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    services.remove_tree(SERVICE, tree, on=orders.DAY, reason="storm", stump_ground=True)
    fact = orders.report(crew, item)
    assert "removed already" in fact.disputed
    assert orders.state(item) == "variation"
    orders.judge(item, "accepted")
    item.refresh_from_db()
    assert item.state == "verified"
    assert item.effect.startswith("nothing to change")


def test_work_dated_before_the_tree_was_planted_is_a_variation() -> None:
    crew = orders.crew()
    tree = build.tree(planted_from=orders.DAY + timedelta(days=1), planted_to=orders.DAY + timedelta(days=1))
    item = orders.item(crew, "remove", tree)
    assert "before it was planted" in orders.report(crew, item).disputed
    tree.refresh_from_db()
    assert (tree.state, orders.state(item)) == ("alive", "variation")


def test_nothing_can_be_verified_before_it_is_reported() -> None:
    item = orders.item(orders.crew())
    with pytest.raises(Conflict, match="nothing was reported"):
        orders.judge(item)


def test_only_work_that_was_reported_done_can_be_accepted() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    orders.report(crew, item, "not_possible")
    with pytest.raises(Invalid) as refused:
        orders.judge(item, "accepted")
    assert [error.pointer for error in refused.value.errors] == ["#/verdict"]
    assert orders.state(item) == "not_possible"


def test_a_verdict_told_twice_is_one() -> None:
    crew = orders.crew()
    item = orders.item(crew, "raise_crown")
    orders.report(crew, item)
    author = orders.forester()
    record = VerdictRecord(uid=uuid.uuid4(), verdict="returned", note="too high")
    first, _ = actions.verify(author, item, record, now=orders.MORNING)
    again, created = actions.verify(author, item, record, now=orders.MORNING)
    assert (again.pk, created) == (first.pk, False)
    assert RequiredCheck.objects.filter(why__contains="too high").count() == 1
    with pytest.raises(Conflict):
        actions.verify(author, item, replace(record, note="too low"), now=orders.MORNING)


def test_a_verdict_without_a_time_settles_work_by_a_clock_that_runs_ahead() -> None:
    crew = orders.crew()
    item = orders.item(crew, "raise_crown")
    actions.report(crew.author, item, orders.said(hours=0.1), now=orders.MORNING)
    record = VerdictRecord(uid=uuid.uuid4(), verdict="accepted")
    actions.verify(orders.forester(), item, record, now=orders.MORNING)
    assert orders.state(item) == "verified"


def test_a_report_is_attributed_and_told() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    orders.report(crew, item)
    past = apps.get_model("inventory", "TreePast")._default_manager.filter(pgh_obj_id=tree.pk).order_by("-pgh_id")
    assert past.values_list("state", "pgh_context__metadata__user")[0] == ("stump", crew.user.pk)
    told = Event.objects.filter(tree=tree, kind="item.reported").get()
    assert (told.actor_id, told.data["state"]) == (crew.user.pk, "done")


def test_a_contractor_reads_its_own_issued_orders_only() -> None:
    crew, other = orders.crew(), orders.crew()
    tree = build.tree()
    draft = orders.draft([build.tree(30)], to=crew)
    item = orders.item(crew, "remove", tree)
    assert [order.pk for order in queries.orders_visible_to(crew.user)] == [item.order_id]
    assert not queries.orders_visible_to(other.user).exists()
    assert list(queries.tree_ids_of_contractor(crew.user)) == [tree.pk]
    assert list(queries.tree_ids_of_contractor(other.user)) == []
    with pytest.raises(Missing):
        queries.item_to_report(other.user, item.uid)
    with pytest.raises(Missing):
        queries.order(crew.user, draft.uid)
    assert queries.item_to_report(crew.user, item.uid).pk == item.pk


@pytest.mark.parametrize(
    ("role", "sees"), [("forester", True), ("auditor", True), ("inspector", True), ("public_works", False)]
)
def test_the_municipality_reads_orders_by_role(role: str, sees: bool) -> None:
    orders.item(orders.crew())
    assert queries.orders_visible_to(build.user(role)).exists() is sees


def test_a_former_member_of_a_contractor_sees_nothing() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    crew.user.memberships.update(ended_on=orders.DAY)
    again = type(crew.user).objects.get(pk=crew.user.pk)
    assert not queries.orders_visible_to(again).exists()
    with pytest.raises(Missing):
        queries.item_to_report(again, item.uid)
    assert OrderItem.objects.filter(pk=item.pk).exists()


def test_who_is_forester_and_contractor_accepts_its_own_orders_only() -> None:
    crew, other = orders.crew(), orders.crew()
    both = build.user("forester")
    Membership.objects.create(user=both, organisation=other.organisation, role="contractor", since=orders.DAY)
    order = orders.issued([build.tree()], crew)
    with pytest.raises(NotAllowed):
        actions.accept(Author(both.pk, "desk"), order, version=order.version, now=orders.MORNING)
    order.refresh_from_db()
    assert order.state == "issued"


def test_a_slip_of_the_year_is_not_taken_for_the_day_of_work() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    with pytest.raises(Invalid) as caught:
        orders.report(crew, item, hours=-24 * 366 * 1000)
    assert [error.pointer for error in caught.value.errors] == ["#/worked_at"]
    tree.refresh_from_db()
    assert tree.state == "alive"
