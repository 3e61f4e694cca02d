"""Measurements and supports by REST: recorded once, read by those who may, never changed."""

import uuid
from typing import Any

import pytest

from inventory.models import Measurement, Support
from tests.support import build
from tests.support.http import V1, as_role, caller, pointers, problem

pytestmark = pytest.mark.django_db


def measurement(**changes: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "measured_on": "2026-05-04",
        "method": "tape",
        "dbh_cm": 43.5,
        "height_m": 14.5,
    } | changes


def test_a_measurement_sent_twice_is_recorded_once_with_the_same_answer(city: object) -> None:
    tree = build.tree(dbh_cm=None)
    client = as_role("inspector")
    body = measurement()
    first = client.post(f"{V1}/trees/{tree.uid}/measurements", body)
    again = client.post(f"{V1}/trees/{tree.uid}/measurements", body)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert Measurement.objects.count() == 1
    tree.refresh_from_db()
    assert (tree.dbh_cm, tree.height_m) == (43.5, 14.5)


@pytest.mark.parametrize("changes", [{"dbh_cm": 44}, {"measured_on": "2026-05-05"}, {"note": "x"}, {"height_m": None}])
def test_the_same_uid_with_other_content_is_a_conflict(city: object, changes: dict[str, Any]) -> None:
    tree = build.tree(dbh_cm=None)
    client = as_role("inspector")
    body = measurement()
    client.post(f"{V1}/trees/{tree.uid}/measurements", body)
    answer = problem(client.post(f"{V1}/trees/{tree.uid}/measurements", body | changes), 409, "conflict")
    assert pointers(answer) == {f"#/{name}" for name in changes}
    other = build.tree(9, dbh_cm=None)
    problem(client.post(f"{V1}/trees/{other.uid}/measurements", body), 409, "conflict")
    assert Measurement.objects.get().dbh_cm == 43.5


def test_stems_and_classes_are_kept_as_they_were_seen(city: object) -> None:
    tree = build.tree(dbh_cm=None)
    client = as_role("inspector")
    address = f"{V1}/trees/{tree.uid}/measurements"
    stems = measurement(dbh_cm=None, height_m=None, stems_cm=[20, 15, 10])
    size_class = measurement(
        dbh_cm=None, dbh_low_cm=33.02, dbh_high_cm=45.72, method="size_class", measured_on="2025-01-01"
    )
    for body in (stems, stems, size_class, size_class):
        assert client.post(address, body).status_code in (200, 201)
    first, second = client.get(address).json()["items"]
    assert first["stems_cm"] == [20, 15, 10]
    assert first["dbh_cm"] == pytest.approx(26.926, abs=0.001)  # the root of 20² + 15² + 10² = 725
    assert (second["dbh_cm"], second["dbh_low_cm"], second["dbh_high_cm"]) == (None, 33.02, 45.72)


def test_a_late_measurement_does_not_replace_a_newer_size(city: object) -> None:
    tree = build.tree(dbh_cm=None)
    client = as_role("inspector")
    for day, dbh in (("2026-05-04", 44), ("2020-05-04", 30)):
        client.post(f"{V1}/trees/{tree.uid}/measurements", measurement(measured_on=day, dbh_cm=dbh))
    tree.refresh_from_db()
    assert tree.dbh_cm == 44


def test_who_measured_is_shown(city: object) -> None:
    tree = build.tree(dbh_cm=None)
    inspector = build.user("inspector", name="Ines Marlow")
    answer = caller(inspector).post(f"{V1}/trees/{tree.uid}/measurements?units=us", measurement(dbh_cm=25.4))
    assert (answer.json()["measured_by"], answer.json()["dbh_in"]) == ("Ines Marlow", 10.0)


def test_a_support_sent_twice_is_recorded_once(city: object) -> None:
    tree = build.tree()
    client = as_role("forester")
    address = f"{V1}/trees/{tree.uid}/supports"
    body = {"uid": str(uuid.uuid4()), "kind": "cable", "height_m": 9.5, "installed_on": "2026-04-01"}
    first, again = client.post(address, body), client.post(address, body)
    assert (first.status_code, again.status_code, first.json() == again.json()) == (201, 200, True)
    assert pointers(problem(client.post(address, body | {"height_m": 9}), 409, "conflict")) == {"#/height_m"}
    assert Support.objects.get().height_m == 9.5
    assert client.get(address).json()["items"] == [first.json()]


def test_an_unknown_tree_has_no_facts(city: object) -> None:
    client = as_role("forester")
    for noun in ("measurements", "supports", "history"):
        problem(client.get(f"{V1}/trees/{uuid.uuid4()}/{noun}"), 404, "not-found")
    problem(client.post(f"{V1}/trees/{uuid.uuid4()}/measurements", measurement()), 404, "not-found")
