"""Two requests at the same moment: one effect, and the other one is told so."""

import threading
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from inventory.models import Measurement, Tree
from tests.support import build
from tests.support.http import V1, caller, key

pytestmark = pytest.mark.django_db(transaction=True)
TOGETHER = 4


def at_once(call: Callable[[], Any]) -> list[Any]:
    """The answers of several calls that start together, each with a connection of its own."""
    start, answers = threading.Barrier(TOGETHER), []

    def run() -> None:
        try:
            start.wait()
            answers.append(call())
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(TOGETHER)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def test_of_several_edits_of_one_version_one_wins(city: object) -> None:
    tree = build.tree()
    client = caller(build.user("forester"))
    address = f"{V1}/trees/{tree.uid}"
    headers = {"If-Match": client.get(address)["ETag"]}
    answers = at_once(lambda: client.patch(address, {"note": str(uuid.uuid4())}, headers=headers))
    assert sorted(answer.status_code for answer in answers) == [200] + [412] * (TOGETHER - 1)
    (won,) = [answer.json()["note"] for answer in answers if answer.status_code == 200]
    tree.refresh_from_db()
    assert tree.note == won


def test_a_fact_sent_several_times_at_once_is_recorded_once(city: object) -> None:
    tree = build.tree(dbh_cm=None)
    client = caller(build.user("inspector"))
    body = {"uid": str(uuid.uuid4()), "measured_on": "2026-05-04", "method": "tape", "dbh_cm": 43.5}
    answers = at_once(lambda: client.post(f"{V1}/trees/{tree.uid}/measurements", body))
    assert sorted(answer.status_code for answer in answers) == [200] * (TOGETHER - 1) + [201]
    assert len({answer.content for answer in answers}) == 1
    assert Measurement.objects.count() == 1


def test_a_post_sent_several_times_at_once_has_one_effect(city: object) -> None:
    client = caller(build.user("forester"))
    headers = key()
    body = {"location": {"type": "Point", "coordinates": [-29.5, 45.0]}}
    answers = at_once(lambda: client.post(f"{V1}/trees", body, headers=headers))
    assert {answer.status_code for answer in answers} <= {201, 409}
    assert len({answer.content for answer in answers if answer.status_code == 201}) == 1
    assert Tree.objects.count() == 1
