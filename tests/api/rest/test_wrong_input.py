"""Wrong input of each kind: one clear problem that names the place, and nothing is changed."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.test import override_settings

from tests.support import build
from tests.support.http import V1, as_role, key, pointers, problem

pytestmark = pytest.mark.django_db
HERE = {"type": "Point", "coordinates": [-29.5, 45.0]}
TABLES = ("tree", "site", "zone", "measurement", "support", "event", "idempotency_key", "tree_past", "zone_past")


def counts() -> list[int]:
    with connection.cursor() as cursor:
        found = []
        for table in TABLES:
            cursor.execute(f"SELECT count(*) FROM {table}")
            found.append(cursor.fetchone()[0])
    return found


@pytest.fixture
def unchanged(city: object) -> Iterator[str]:
    """The address of a tree; afterwards every table holds as many rows as before."""
    build.zone()
    tree = build.tree()
    as_role("forester")
    before = counts()
    yield f"{V1}/trees/{tree.uid}"
    assert counts() == before


@pytest.mark.parametrize(
    ("body", "places"),
    [
        ({}, {"#/location"}),
        ({"location": None}, {"#/location"}),
        ({"location": {"type": "Point", "coordinates": [-29.5]}}, {"#/location/coordinates"}),
        ({"location": {"type": "Point", "coordinates": [4_500_000, 5_000_000]}}, {"#/location/coordinates"}),
        ({"location": {"type": "Point", "coordinates": ["-29.5", 45]}}, {"#/location/coordinates"}),
        ({"location": HERE | {"crs": {"type": "name"}}}, {"#/location/crs"}),
        ({"location": {"type": "Polygon", "coordinates": []}}, {"#/location/type"}),
        ({"location": HERE, "colour": "green"}, {"#/colour"}),
        ({"location": HERE, "site": {"street": "A", "nr": 1}}, {"#/site/nr"}),
        ({"location": HERE, "uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60"}, {"#/uid"}),
        ({"location": HERE, "species_id": 2_000_000_000}, {"#/species_id"}),
        ({"location": HERE, "species_id": "1"}, {"#/species_id"}),
        ({"location": HERE, "state": "removed"}, {"#/state"}),
        ({"location": HERE, "planted_from": "2026-03-01"}, {"#/planted_to"}),
        ({"location": HERE, "planted_from": "2026-03-02", "planted_to": "2026-03-01"}, {"#/planted_from"}),
        ({"location": HERE, "planted_from": "2099-01-01", "planted_to": "2099-01-02"}, {"#/planted_from"}),
        ({"location": HERE, "tag": ""}, {"#/tag"}),
        ({"location": HERE, "note": "a\u0000b"}, {"#/note"}),
        ({"location": HERE, "size": {"measured_on": "2026-05-01", "method": "tape"}}, {"#/size"}),
        ({"location": HERE, "size": {"measured_on": "2099-05-01", "method": "tape", "dbh_cm": 4}},
         {"#/size/measured_on"}),
        ({"location": HERE, "size": {"measured_on": "2026-05-01", "method": "eye", "dbh_cm": 5000}},
         {"#/size/method", "#/size/dbh_cm"}),
    ],
)  # fmt: skip
def test_a_wrong_tree_is_refused(unchanged: str, body: dict[str, Any], places: set[str]) -> None:
    answer = as_role("forester").post(f"{V1}/trees", body, headers=key())
    assert pointers(problem(answer, 400, "invalid")) == places


@pytest.mark.parametrize(
    "text",
    [
        '{"location": {"type": "Point", "coordinates": [NaN, 45]}}',
        '{"location": {"type": "Point", "coordinates": [Infinity, 45]}}',
        '{"location": {"type": "Point", "coordinates": [1e400, 45]}}',
        '{"location": ',
        '{"tag": "a", "tag": "b"}',
        " ",
    ],
)
def test_what_is_no_json_is_refused(unchanged: str, text: str) -> None:
    answer = as_role("forester").post(f"{V1}/trees", text, content_type="application/json", headers=key())
    problem(answer, 400, "unreadable")


@pytest.mark.parametrize("body", [[], "tree", 5, None])
def test_a_body_that_is_no_object_is_refused(unchanged: str, body: Any) -> None:
    problem(as_role("forester").post(f"{V1}/trees", body, headers=key()), 400, "invalid")


def test_a_form_is_not_read(unchanged: str) -> None:
    client = as_role("forester")
    problem(client.post(f"{V1}/trees", {"tag": "a"}, format="multipart", headers=key()), 415, "media-type")


@override_settings(DATA_UPLOAD_MAX_MEMORY_SIZE=1000)
def test_a_body_that_is_too_large_is_refused(unchanged: str) -> None:
    body = {"location": HERE, "note": "x" * 1000}
    problem(as_role("forester").post(f"{V1}/trees", body, headers=key()), 413, "too-large")


def test_a_missing_key_is_refused(unchanged: str) -> None:
    problem(as_role("forester").post(f"{V1}/trees", {"location": HERE}), 400, "invalid")


@pytest.mark.parametrize(
    "address", ["trees", "species", "zones", "sites", "events", "me", "tokens", "openapi.json", ""]
)
def test_an_unknown_parameter_is_refused_everywhere(unchanged: str, address: str) -> None:
    body = problem(as_role("forester").get(f"{V1}/{address}", {"offset": "1", "format": "csv"}), 400, "invalid")
    assert pointers(body) == {"?offset", "?format"}


def test_a_stale_or_missing_version_is_refused(unchanged: str) -> None:
    client = as_role("forester")
    problem(client.patch(unchanged, {"note": "x"}), 428, "precondition-required")
    problem(client.patch(unchanged, {"note": "x"}, headers={"If-Match": '"99-000000000000"'}), 412, "stale")
    problem(client.patch(unchanged, {"note": "x"}, headers={"If-Match": "99"}), 400, "invalid")


@pytest.mark.parametrize(
    ("changes", "places"),
    [
        ({"dbh_cm": 50}, {"#/dbh_cm"}),
        ({"state": "removed"}, {"#/state"}),
        ({"planted_from": "2026-01-01"}, {"#/planted_to"}),
        ({"location": HERE}, {"#/location"}),
        ({"why": ""}, {"#/why"}),
    ],
)
def test_a_wrong_edit_is_refused(unchanged: str, changes: dict[str, Any], places: set[str]) -> None:
    answer = as_role("forester").patch(unchanged, changes, headers={"If-Match": "*"})
    assert pointers(problem(answer, 400, "invalid")) == places


@pytest.mark.parametrize(
    ("body", "places"),
    [
        ({"uid": "x", "measured_on": "2026-05-01", "method": "tape", "dbh_cm": 4}, {"#/uid"}),
        ({"measured_on": "2026-05-01", "method": "tape", "dbh_cm": True}, {"#/uid", "#/dbh_cm"}),
        ({"uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "measured_on": "2026-05-01", "method": "tape"}, {"#"}),
        ({"uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "measured_on": "2026-05-01", "method": "size_class",
          "dbh_low_cm": 45, "dbh_high_cm": 33}, {"#/dbh_low_cm"}),
        ({"uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "measured_on": "2026-05-01", "method": "tape",
          "height_m": 10, "crown_base_m": 11}, {"#/crown_base_m"}),
        ({"uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "measured_on": "2026-05-01", "method": "tape",
          "stems_cm": [10, 0]}, {"#/stems_cm/1"}),
        ({"uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "measured_on": "2026-05-01", "method": "tape",
          "stems_cm": [10, 9], "dbh_cm": 12}, {"#/dbh_cm"}),
    ],
)  # fmt: skip
def test_a_wrong_measurement_is_refused(unchanged: str, body: dict[str, Any], places: set[str]) -> None:
    answer = as_role("inspector").post(f"{unchanged}/measurements", body)
    assert pointers(problem(answer, 400, "invalid")) == places


def test_a_support_in_the_future_is_refused(unchanged: str) -> None:
    body = {
        "uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60",
        "kind": "cable",
        "height_m": 8,
        "installed_on": "2099-01-01",
    }
    answer = as_role("inspector").post(f"{unchanged}/supports", body)
    assert pointers(problem(answer, 400, "invalid")) == {"#/installed_on"}
