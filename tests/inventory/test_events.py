"""Events read by position: none is missed, whatever order the transactions commit in."""

import threading

import pytest
from django.db import connection, transaction

from inventory import events
from inventory.history import SERVICE
from inventory.models import Event


@pytest.mark.django_db
def test_positions_go_on_in_order() -> None:
    for kind in ("a.one", "a.two"):
        events.record(SERVICE, kind, "a")
    assert events.stamp() == 2
    events.record(SERVICE, "a.three", "a")
    assert events.stamp() == 1
    assert [event.kind for event in events.since(0)] == ["a.one", "a.two", "a.three"]
    assert [event.kind for event in events.since(2)] == ["a.three"]
    assert events.stamp() == 0


@pytest.mark.django_db
def test_an_event_is_not_read_before_it_is_stamped() -> None:
    events.record(SERVICE, "a.one", "a")
    assert events.since(0) == []


@pytest.mark.django_db(transaction=True)
def test_a_lower_id_that_commits_later_is_not_missed() -> None:
    written, go = threading.Event(), threading.Event()

    def slow() -> None:
        try:
            with transaction.atomic():
                events.record(SERVICE, "slow.one", "a")
                written.set()
                go.wait(10)
        finally:
            connection.close()

    thread = threading.Thread(target=slow)
    thread.start()
    assert written.wait(10)
    events.record(SERVICE, "quick.one", "a")
    events.stamp()
    seen = events.since(0)
    assert [event.kind for event in seen] == ["quick.one"]
    go.set()
    thread.join()
    events.stamp()
    later = events.since(seen[-1].position or 0)
    assert [event.kind for event in later] == ["slow.one"]
    assert later[0].pk < seen[0].pk


@pytest.mark.django_db(transaction=True)
def test_many_writers_and_a_reader_by_position_lose_nothing() -> None:
    writers, each = 4, 25
    done = threading.Event()
    read: list[int] = []

    def write(number: int) -> None:
        try:
            for _ in range(each):
                with transaction.atomic():
                    events.record(SERVICE, f"writer.{number}", "a")
        finally:
            connection.close()

    def drain() -> None:
        try:
            position = 0
            while True:
                last = done.is_set()
                events.stamp()
                for event in events.since(position):
                    read.append(event.pk)
                    position = event.position or position
                if last:
                    return
        finally:
            connection.close()

    reader = threading.Thread(target=drain)
    reader.start()
    threads = [threading.Thread(target=write, args=(n,)) for n in range(writers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    done.set()
    reader.join()
    assert sorted(read) == sorted(Event.objects.values_list("pk", flat=True))
    assert len(read) == writers * each
