"""Required checks: asked for, closed by the inspection that satisfies them, withdrawn with a reason."""

import itertools
import uuid
from datetime import date, timedelta

import pytest
import time_machine

from assessments import services
from assessments.models import Priority, RequiredCheck
from assessments.records import AskedCheck
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid, Missing
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _today() -> object:
    """The day of these tests, for the door that asks for a check."""
    with time_machine.travel(make.NOW, tick=False):
        yield


def ask(tree: Tree, kind: str = "reinspect", due_on: date = make.TODAY + 30 * DAY, **fields: object) -> RequiredCheck:
    return services.ask_check(SERVICE, tree, kind=kind, due_on=due_on, why="after the storm", **fields)  # type: ignore[arg-type]


def test_a_check_sets_the_date_by_which_to_look() -> None:
    tree = build.tree()
    ask(tree, due_on=date(2026, 12, 24))
    row = Priority.objects.get(tree=tree)
    assert (row.inspect_by, row.by_check) == (date(2026, 12, 24), date(2026, 12, 24))
    assert Event.objects.filter(kind="check.asked", tree=tree).count() == 1


def test_an_inspection_from_that_day_on_closes_it_and_an_earlier_one_does_not() -> None:
    tree = build.tree()
    check = ask(tree)
    make.inspected(tree, make.record(make.TODAY - DAY))
    check.refresh_from_db()
    assert check.closed_on is None
    inspection = make.inspected(tree, make.record(make.TODAY))
    check = RequiredCheck.objects.get()
    assert (check.closed_on, check.closed_by_id) == (make.TODAY, inspection.pk)
    assert Priority.objects.get(tree=tree).by_check is None


@pytest.mark.parametrize(
    ("kind", "level", "closed"),
    [
        ("advanced_diagnosis", "basic", False),
        ("advanced_diagnosis", "advanced", True),
        ("reinspect", "limited_visual", False),
        ("reinspect", "basic", True),
        ("storm", "limited_visual", True),
        ("root_collar", "limited_visual", False),
    ],
)
def test_a_check_is_closed_only_by_a_look_thorough_enough(kind: str, level: str, closed: bool) -> None:
    tree = build.tree()
    check = ask(tree, kind)
    make.inspected(tree, make.record(level=level))
    check.refresh_from_db()
    assert (check.closed_on is not None) == closed


def test_the_inspection_that_asks_does_not_close_its_own_check() -> None:
    tree = build.tree()
    asked = AskedCheck("reinspect", make.TODAY + 90 * DAY, "see whether it opens")
    make.inspected(tree, make.record(make.TODAY - DAY, checks=(asked,)))
    check = RequiredCheck.objects.get()
    assert (check.closed_on, check.asked_on, check.source) == (None, make.TODAY - DAY, "assessor")
    make.inspected(tree, make.record(make.TODAY))
    check.refresh_from_db()
    assert check.closed_on == make.TODAY


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_the_order_in_which_inspections_arrive_does_not_matter(order: tuple[int, ...]) -> None:
    tree = build.tree()
    asked = AskedCheck("reinspect", date(2026, 9, 1), "see whether it opens")
    records = [
        make.rated("high", date(2026, 3, 1), checks=(asked,)),
        make.record(date(2026, 5, 1), level="limited_visual"),
        make.rated("low", date(2026, 8, 1), findings=(make.finding(),)),
    ]
    for place in order:
        make.inspected(tree, records[place])
    check = RequiredCheck.objects.get()
    assert (check.closed_on, check.closed_by.inspected_on if check.closed_by else None) == (date(2026, 8, 1),) * 2
    row = Priority.objects.get(tree=tree)
    # The low interval of the shipped policy for frequent use is 48 months; a sign of decay halves it.
    assert (row.risk, row.last_seen, row.by_interval) == (1, date(2026, 8, 1), date(2030, 8, 1))
    assert row.inspect_by == row.by_decay == date(2028, 7, 31)


def test_the_same_uid_is_the_same_check_and_other_content_is_refused() -> None:
    tree, uid = build.tree(), uuid.uuid4()
    first = ask(tree, uid=uid)
    assert ask(tree, uid=uid).pk == first.pk
    with pytest.raises(Conflict, match="another kind"):
        ask(tree, "storm", uid=uid)
    assert RequiredCheck.objects.count() == 1


def test_a_check_of_an_unknown_kind_without_reason_or_of_a_felled_tree_is_refused() -> None:
    tree = build.tree()
    with pytest.raises(Invalid) as caught:
        services.ask_check(SERVICE, tree, kind="peek", due_on=make.TODAY, why=" ")
    assert [error.pointer for error in caught.value.errors] == ["#/kind", "#/why"]
    remove_tree(SERVICE, tree, on=make.TODAY, reason="felled", stump_ground=True)
    with pytest.raises(Conflict):
        ask(tree)
    assert not RequiredCheck.objects.exists()


def test_a_check_is_withdrawn_once_with_a_reason() -> None:
    tree = build.tree()
    check = ask(tree, due_on=make.TODAY)
    with pytest.raises(Invalid):
        services.withdraw_check(SERVICE, check.uid, " ")
    withdrawn = services.withdraw_check(SERVICE, check.uid, "asked for the wrong tree")
    assert (withdrawn.closed_on, withdrawn.withdrawn_why) == (make.TODAY, "asked for the wrong tree")
    assert Priority.objects.get(tree=tree).by_check is None
    with pytest.raises(Conflict):
        services.withdraw_check(SERVICE, check.uid, "again")
    with pytest.raises(Missing):
        services.withdraw_check(SERVICE, uuid.uuid4(), "unknown")


@pytest.mark.parametrize(("lead_days", "closed"), [(365, False), (60, True)])
def test_the_yearly_look_at_a_cable_is_not_closed_by_a_look_soon_after_it_was_installed(
    lead_days: int, closed: bool
) -> None:
    tree = build.tree()
    check = ask(tree, kind="support", due_on=make.TODAY + lead_days * DAY)
    make.inspected(tree, make.record(make.TODAY))
    check.refresh_from_db()
    assert (check.closed_on is not None) is closed
