"""Recompute beside others who write: nothing that was made during a pass is lost, no mark is forgotten."""

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection, connections

from assessments import restate, services
from assessments.models import Mark, Priority
from inventory.history import SERVICE
from inventory.models import Tree
from inventory.services import remove_tree
from tests.support import build
from tests.support import inspections as make

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _city() -> None:
    build.municipality()


def elsewhere(work: Callable[[], Any]) -> Any:
    """Do something on another connection, committed, and wait for it."""

    def on_its_own() -> Any:
        try:
            return work()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(on_its_own).result(timeout=30)


@pytest.fixture
def in_the_middle(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Callable[[], Any]]]:
    """Work to be done by others once this thread's pass has read its block and not yet written it."""
    todo: list[Callable[[], Any]] = []
    compute, here = restate._rows, threading.get_ident()

    def rows(*args: Any) -> Any:
        while threading.get_ident() == here and todo:
            elsewhere(todo.pop(0))
        return compute(*args)

    monkeypatch.setattr(restate, "_rows", rows)
    yield todo
    assert not todo


def standing(count: int) -> list[Tree]:
    trees = [build.tree(east=20 * place) for place in range(count)]
    restate.restate([tree.pk for tree in trees])
    return trees


def risks() -> dict[int, int]:
    return dict(Priority.objects.values_list("tree_id", "risk"))


def test_inspections_made_during_a_full_pass_survive_it(in_the_middle: list[Callable[[], Any]]) -> None:
    trees = standing(5)
    with SERVICE.acting("a new policy is to be applied"):
        Priority.objects.update(policy_version=99)
    in_the_middle.append(lambda: make.inspected(trees[1], make.rated("high")))
    in_the_middle.append(lambda: make.inspected(trees[3], make.rated("moderate")))
    done = restate.restate_all()
    assert [risks()[tree.pk] for tree in trees] == [0, 3, 0, 2, 0]
    assert done.retries >= 1
    assert not Priority.objects.filter(policy_version=99).exists()


def test_an_inspection_that_changes_no_number_still_stops_a_pass_that_read_before_it(
    in_the_middle: list[Callable[[], Any]],
) -> None:
    (tree,) = standing(1)
    make.inspected(tree, make.rated("high"))
    expected = Priority.objects.values().get(tree=tree)
    # The row says what will be true again once the other inspection is in; the pass has read the facts before it.
    make.inspected(tree, make.rated("low", inspected_at=make.NOW.replace(minute=30)))
    Priority.objects.filter(tree=tree).update(**expected)
    later = make.NOW.replace(hour=13)
    in_the_middle.append(lambda: make.inspected(tree, make.rated("high", inspected_at=later)))
    assert restate.restate_all().retries >= 1
    assert risks()[tree.pk] == 3


def test_a_tree_inspected_for_the_first_time_during_a_pass_keeps_its_row(
    in_the_middle: list[Callable[[], Any]],
) -> None:
    trees = standing(2)
    Priority.objects.filter(tree=trees[1]).delete()
    in_the_middle.append(lambda: make.inspected(trees[1], make.rated("high")))
    restate.restate_all()
    assert [risks()[tree.pk] for tree in trees] == [0, 3]


def test_a_tree_felled_during_a_pass_stays_without_priority(in_the_middle: list[Callable[[], Any]]) -> None:
    trees = standing(3)
    Priority.objects.update(policy_version=99)

    def fell() -> None:
        with SERVICE.acting("felled"):
            remove_tree(SERVICE, trees[1], on=make.TODAY, reason="felled", stump_ground=True)
            restate.restate([trees[1].pk])

    in_the_middle.append(fell)
    restate.restate_all()
    assert sorted(risks()) == [trees[0].pk, trees[2].pk]


@pytest.mark.parametrize("scope", ["tree", "all"])
def test_a_mark_made_during_a_pass_asks_again(scope: str, in_the_middle: list[Callable[[], Any]]) -> None:
    trees = standing(2)
    services.mark(scope, trees[0].pk if scope == "tree" else None)
    before = set(Mark.objects.values_list("pk", flat=True))
    in_the_middle.append(lambda: services.mark(scope, trees[0].pk if scope == "tree" else None))
    assert restate.restate_marked().read == (1 if scope == "tree" else 2)
    left = set(Mark.objects.values_list("pk", flat=True))
    assert len(left) == 1
    assert not left & before
    assert restate.restate_marked().read > 0
    assert not Mark.objects.exists()


def test_a_pass_that_is_broken_off_leaves_its_marks_and_the_lock_free() -> None:
    standing(2)
    services.mark("all")

    def stop(done: int, total: int | None, step: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        restate.restate_marked(stop)
    assert Mark.objects.count() == 1
    assert elsewhere(lambda: restate.restate_marked().read) == 2
    assert not Mark.objects.exists()


def connections_now() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()")
        return int(cursor.fetchone()[0])


def test_blocks_side_by_side_do_each_tree_once_and_hang_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restate, "BLOCK", 3)
    trees = standing(20)
    Priority.objects.all().delete()
    before, threads = connections_now(), set()
    compute = restate._rows

    def rows(*args: Any) -> Any:
        threads.add(threading.get_ident())
        return compute(*args)

    monkeypatch.setattr(restate, "_rows", rows)
    done = restate.restate_all()
    assert (done.read, done.added, done.retries) == (20, 20, 0)
    assert sorted(risks()) == [tree.pk for tree in trees]
    assert 1 <= len(threads - {threading.get_ident()}) <= restate.READERS
    assert threading.get_ident() not in threads
    # The server notices a moment later that they have hung up.
    until = time.monotonic() + 10
    while connections_now() > before and time.monotonic() < until:
        time.sleep(0.05)
    assert connections_now() == before


def test_a_pass_side_by_side_that_is_stopped_begins_no_further_block(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restate, "BLOCK", 1)
    standing(12)
    Priority.objects.all().delete()
    services.mark("all")

    def stop(done: int, total: int | None, step: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        restate.restate_marked(stop)
    assert 1 <= Priority.objects.count() < 12
    assert Mark.objects.count() == 1
    assert restate.restate_marked().read == 12
    assert Priority.objects.count() == 12


def test_one_pass_at_a_time() -> None:
    standing(1)
    services.mark("all")
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [restate.PASS_LOCK])
        assert elsewhere(restate.restate_marked) == restate.Restated()
        cursor.execute("SELECT pg_advisory_unlock(%s)", [restate.PASS_LOCK])
    assert Mark.objects.count() == 1
    assert elsewhere(restate.restate_marked).read == 1


def test_two_inspections_of_one_tree_at_once_both_count() -> None:
    (tree,) = standing(1)
    meet = threading.Barrier(2)

    def inspect(minute: int, risk: str) -> None:
        try:
            meet.wait(10)
            make.inspected(tree, make.rated(risk, inspected_at=make.NOW.replace(minute=minute)))
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as pool:
        for one in [pool.submit(inspect, 1, "low"), pool.submit(inspect, 2, "high")]:
            one.result(timeout=30)
    assert risks()[tree.pk] == 3
    assert restate.restate_all().written == 0


def test_the_same_record_sent_twice_at_once_is_stored_once() -> None:
    (tree,) = standing(1)
    record, meet = make.rated("moderate"), threading.Barrier(2)

    def send() -> bool:
        try:
            meet.wait(10)
            return services.record_inspection(SERVICE, tree, record, make.TODAY, now=make.NOW)[1]
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as pool:
        created = [one.result(timeout=30) for one in [pool.submit(send), pool.submit(send)]]
    assert sorted(created) == [False, True]
    assert tree.inspections.count() == 1
