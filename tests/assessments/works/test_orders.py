"""Orders from draft to issue: numbers, reasons, cautions, refusals; the emergency order and its page."""

from datetime import timedelta

import pytest
from django.core import mail
from pytest_django import DjangoAssertNumQueries, DjangoCaptureOnCommitCallbacks, Settings

from assessments.works import actions, paging
from assessments.works import cautions as c
from assessments.works.models import OrderItem, WorkOrder
from assessments.works.records import ItemWish
from inventory import events, queries
from inventory.history import SERVICE
from inventory.models import Event, Municipality, Site
from inventory.problems import Conflict, Invalid, Stale
from tests.support import build, inspections, orders
from workers import drain

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
LATER = orders.DAY + timedelta(days=30)


def pointers(refused: pytest.ExceptionInfo[Invalid]) -> list[str]:
    return [error.pointer for error in refused.value.errors]


def test_numbers_count_within_the_year_and_start_again_with_the_next() -> None:
    trees = [build.tree()]
    wishes = [ItemWish(tree=trees[0].uid, action="raise_crown")]
    next_year = LATER.replace(year=2027, month=3)
    numbers = [orders.draft(trees).number, orders.draft(trees).number]
    numbers.append(actions.draft(SERVICE, wishes, due_on=next_year, today=next_year).number)
    assert numbers == ["2026-0001", "2026-0002", "2027-0001"]


def test_a_reason_that_is_left_out_comes_from_the_rating_and_the_finding() -> None:
    tree, unrated = build.tree(), build.tree(20)
    seen = inspections.rated("high", orders.DAY, findings=(inspections.finding("decay", "root_collar"),))
    finding = inspections.inspected(tree, seen).findings.get()
    wishes = [
        ItemWish(tree=tree.uid, action="remove", finding=finding.uid),
        ItemWish(tree=unrated.uid, action="raise_crown"),
        ItemWish(tree=unrated.uid, action="clean_crown", reason="asked by the school"),
    ]
    order = actions.draft(orders.forester(), wishes, due_on=LATER, today=orders.DAY)
    rated, not_rated, told = order.items.order_by("id").values_list("reason", flat=True)
    assert rated.startswith("Risk high; decay at the root collar; act by 2026-12-")
    assert not_rated == "Risk not rated yet."
    assert told == "asked by the school"


def test_cautions_come_from_the_newest_look_from_all_sides_and_from_the_site() -> None:
    tree = build.tree()
    with SERVICE.acting("lines recorded"):
        Site.objects.filter(pk=tree.site_id).update(overhead_lines="low_voltage")
    old = inspections.record(orders.DAY - timedelta(days=400), findings=(inspections.finding("decay", "stem"),))
    hanging = inspections.finding("broken_branch", "branch", measures={"state": "hanging", "diameter_cm": 9})
    new = inspections.record(orders.DAY - timedelta(days=9), findings=(hanging,))
    glance = inspections.record(
        orders.DAY, level="limited_visual", findings=(inspections.finding("decay", "root_collar"),)
    )
    for record in (old, new, glance):
        inspections.inspected(tree, record)
    item = orders.item(orders.crew(), "remove", tree)
    assert item.cautions == [c.HANGING, c.ROOTS, c.LOW_VOLTAGE]


def test_wrong_items_are_all_named_and_nothing_is_made() -> None:
    tree, other = build.tree(), build.tree(20)
    finding = inspections.inspected(other, findings=(inspections.finding(),)).findings.get()
    wishes = [
        ItemWish(tree=orders.said().uid, action="remove"),
        ItemWish(tree=tree.uid, action="paint"),
        ItemWish(tree=tree.uid, action="grind_stump"),
        ItemWish(tree=tree.uid, action="remove", due_on=orders.DAY - timedelta(days=1)),
        ItemWish(tree=tree.uid, action="remove", finding=finding.uid),
    ]
    with pytest.raises(Invalid) as refused:
        actions.draft(orders.forester(), wishes, due_on=LATER, today=orders.DAY)
    assert pointers(refused) == [
        "#/items/0/tree",
        "#/items/1/action",
        "#/items/2/action",
        "#/items/3/due_on",
        "#/items/4",
        "#/items/4/finding",
    ]
    assert not WorkOrder.objects.exists()
    assert not Event.objects.filter(kind__startswith="order.").exists()


def test_a_draft_is_not_due_in_the_past_nor_given_to_who_is_no_contractor() -> None:
    wishes = [ItemWish(tree=build.tree().uid, action="remove")]
    with pytest.raises(Invalid) as refused:
        actions.draft(SERVICE, wishes, due_on=orders.DAY - timedelta(days=1), today=orders.DAY)
    assert pointers(refused) == ["#/due_on"]
    for organisation in (build.organisation(), build.organisation("contractor")):
        organisation.ended_on = orders.DAY
        with pytest.raises(Invalid) as refused:
            actions.draft(SERVICE, wishes, due_on=LATER, today=orders.DAY, contractor=organisation)
        assert pointers(refused) == ["#/contractor"]
    with pytest.raises(Invalid) as refused:
        actions.draft(SERVICE, [], due_on=LATER, today=orders.DAY)
    assert pointers(refused) == ["#/items"]


def test_items_are_added_to_a_draft_only() -> None:
    crew = orders.crew()
    order = orders.draft([build.tree()], to=crew)
    more = [ItemWish(tree=build.tree(20).uid, action="remove")]
    grown = actions.add_items(SERVICE, order, more, version=order.version, today=orders.DAY, now=orders.MORNING)
    assert grown.version > order.version
    with pytest.raises(Stale):
        actions.issue(SERVICE, order, version=order.version, now=orders.MORNING)
    sent = actions.issue(SERVICE, order, version=grown.version, now=orders.MORNING)
    with pytest.raises(Conflict, match="not edited once issued"):
        actions.add_items(SERVICE, sent, more, version=sent.version, today=orders.DAY, now=orders.MORNING)
    assert sent.items.count() == 2


def test_an_order_without_contractor_is_issued_to_the_one_named_then() -> None:
    order = orders.draft([build.tree()])
    with pytest.raises(Invalid) as refused:
        actions.issue(SERVICE, order, version=order.version, now=orders.MORNING)
    assert pointers(refused) == ["#/contractor"]
    crew = orders.crew()
    sent = actions.issue(SERVICE, order, version=order.version, now=orders.MORNING, contractor=crew.organisation)
    assert (sent.state, sent.contractor, sent.issued_at) == ("issued", crew.organisation, orders.MORNING)


def test_steps_out_of_turn_are_refused() -> None:
    crew = orders.crew()
    draft = orders.draft([build.tree()], to=crew)
    with pytest.raises(Conflict, match="draft"):
        actions.accept(crew.author, draft, version=draft.version, now=orders.MORNING)
    sent = actions.issue(SERVICE, draft, version=draft.version, now=orders.MORNING)
    with pytest.raises(Conflict, match="issued"):
        actions.issue(SERVICE, sent, version=sent.version, now=orders.MORNING)
    taken = actions.accept(crew.author, sent, version=sent.version, now=orders.MORNING)
    with pytest.raises(Invalid):
        actions.cancel(SERVICE, taken, reason=" ", version=taken.version, now=orders.MORNING)
    gone = actions.cancel(SERVICE, taken, reason="no money", version=taken.version, now=orders.MORNING)
    assert (gone.state, gone.items.get().state) == ("cancelled", "cancelled")
    with pytest.raises(Conflict, match="cancelled"):
        actions.cancel(SERVICE, gone, reason="again", version=gone.version, now=orders.MORNING)


def test_work_that_was_done_before_the_cancellation_stays_to_be_verified() -> None:
    crew = orders.crew()
    order = orders.issued([build.tree(), build.tree(20)], crew)
    done, still_open = order.items.order_by("id")
    orders.report(crew, done)
    order.refresh_from_db()
    actions.cancel(SERVICE, order, reason="no money", version=order.version, now=orders.MORNING)
    assert (orders.state(done), orders.state(still_open)) == ("done", "cancelled")
    with pytest.raises(Conflict, match="cancelled"):
        orders.judge(done, "returned")
    orders.judge(done, "accepted")
    assert (orders.state(done), orders.order_state(done)) == ("verified", "cancelled")


def test_items_of_a_hundred_trees_cost_a_fixed_number_of_queries(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    trees = [build.tree(east) for east in range(0, 1000, 10)]
    with django_assert_max_num_queries(30):
        order = orders.draft(trees)
    assert order.items.count() == 100


# -- emergencies


def raised(tree_state: str = "alive") -> OrderItem | None:
    """An emergency is recorded and the news of it acted on."""
    tree = build.tree(state=tree_state)
    inspections.inspected(tree, emergency=True, note="limb down on the school gate")
    drain.drain()
    return OrderItem.objects.filter(tree=tree).select_related("order").first()


def test_an_emergency_is_issued_at_once_to_the_emergency_contractor(
    city: Municipality, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    crew = orders.crew()
    Municipality.objects.update(duty_email="duty@harrowmere.example", emergency_contractor=crew.organisation)
    queries.forget_municipality()
    with django_capture_on_commit_callbacks(execute=True):
        item = raised()
    assert item is not None
    assert (item.action, item.order.state, item.order.contractor) == ("make_safe", "issued", crew.organisation)
    assert item.reason == "Emergency: reported by the inspector. limb down on the school gate"
    [letter] = mail.outbox
    assert letter.to == ["duty@harrowmere.example"]
    assert item.order.number in letter.subject
    assert "limb down" in letter.body
    assert Event.objects.filter(kind="duty.paged", subject_uid=item.order.uid).count() == 1


def test_without_an_emergency_contractor_the_order_waits_as_a_draft() -> None:
    item = raised()
    assert item is not None
    assert (item.order.emergency, item.order.state, item.order.contractor) == (True, "draft", None)


def test_one_emergency_makes_one_order_however_often_its_news_is_read(city: Municipality) -> None:
    item = raised()
    assert item is not None
    inspection = item.order.inspection
    assert inspection is not None
    again = actions.open_emergency_order(SERVICE, inspection, today=orders.DAY, now=orders.MORNING)
    assert again == item.order
    assert WorkOrder.objects.count() == 1


def test_a_mail_that_failed_is_sent_later_and_once(city: Municipality, settings: Settings) -> None:
    Municipality.objects.update(duty_email="duty@harrowmere.example")
    queries.forget_municipality()
    raised()
    settings.EMAIL_BACKEND = "tests.support.mail.Broken"
    with pytest.raises(ConnectionError):
        paging.page_waiting()
    paging.page_waiting_quietly()
    assert WorkOrder.objects.get().paged_at is None
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert (paging.page_waiting(), paging.page_waiting()) == (1, 0)
    assert len(mail.outbox) == 1
    assert WorkOrder.objects.get().paged_at is not None


def test_news_of_an_emergency_that_came_late_makes_a_draft_and_pages_nobody(city: Municipality) -> None:
    crew = orders.crew()
    Municipality.objects.update(duty_email="duty@harrowmere.example", emergency_contractor=crew.organisation)
    queries.forget_municipality()
    inspections.inspected(build.tree(), inspections.record(orders.DAY - timedelta(days=9), emergency=True))
    drain.drain()
    assert WorkOrder.objects.get().state == "draft"
    assert paging.page_waiting() == 0
    assert mail.outbox == []


def test_an_emergency_of_a_tree_that_is_felled_meanwhile_makes_no_order() -> None:
    crew = orders.crew()
    tree = build.tree()
    inspections.inspected(tree, emergency=True)
    orders.report(crew, orders.item(crew, "remove", tree))
    drain.drain()
    assert not WorkOrder.objects.filter(emergency=True).exists()
    assert Event.objects.filter(kind="emergency.past", tree=tree).count() == 1
    assert events.since(0)


def test_the_version_moves_with_every_fact_also_within_one_instant() -> None:
    crew = orders.crew()
    order = orders.issued([build.tree()], crew, "raise_crown")
    versions = [order.version]
    for hours in (-2, -1):
        actions.report(crew.author, order.items.get(), orders.said(hours=hours), now=orders.MORNING)
        order.refresh_from_db()
        versions.append(order.version)
    assert versions == sorted(set(versions))
