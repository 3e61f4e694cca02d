"""Idempotency keys: one effect, one answer."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connections
from django.http import QueryDict
from django.utils import timezone

from api.http import idempotency
from api.models import IdempotencyKey
from inventory.models import Tree
from tests.support import build
from tests.support.http import V1, as_role, caller, problem

pytestmark = pytest.mark.django_db
BODY: dict[str, Any] = {"location": {"type": "Point", "coordinates": [-29.5, 45.0]}, "note": "x"}


def post(client: Any, body: dict[str, Any], key: str = "k1") -> Any:
    return client.post(f"{V1}/trees", body, headers={"Idempotency-Key": key})


def test_a_repeated_request_gets_the_first_answer_and_has_one_effect(city: object) -> None:
    client = as_role("forester")
    first = post(client, BODY)
    again = post(client, dict(reversed(BODY.items())), '"k1"')  # the draft's quoted spelling, members reordered
    assert (first.status_code, Tree.objects.count()) == (201, 1)
    assert (again.status_code, again.content) == (201, first.content)
    for header in ("Location", "ETag", "Content-Type"):
        assert again[header] == first[header]


def test_the_same_key_with_other_content_is_refused(city: object) -> None:
    client = as_role("forester")
    post(client, BODY)
    problem(post(client, BODY | {"note": "y"}), 422, "key-reused")
    assert Tree.objects.count() == 1


def test_keys_of_two_people_do_not_meet(city: object) -> None:
    assert {post(as_role("forester"), BODY).status_code for _ in range(2)} == {201}
    assert Tree.objects.count() == 2


@pytest.mark.parametrize("key", ["", '""', "a" * 201, "schlüssel", "a\tb"])
def test_a_missing_or_odd_key_is_refused(city: object, key: str) -> None:
    problem(post(as_role("forester"), BODY, key), 400, "invalid")
    assert Tree.objects.count() == 0


def test_a_refused_request_leaves_its_key_free(city: object) -> None:
    client = as_role("forester")
    problem(post(client, BODY | {"state": "gone"}), 400, "invalid")
    assert IdempotencyKey.objects.count() == 0
    assert post(client, BODY).status_code == 201


@pytest.mark.django_db(transaction=True)
def test_a_key_whose_first_request_still_runs_is_refused(city: object, monkeypatch: pytest.MonkeyPatch) -> None:
    forester = build.user("forester")
    client = caller(forester)
    scope = {"user_id": forester.pk, "method": "POST", "path": f"{V1}/trees"}
    other = connections["default"].copy()
    try:
        with other.cursor() as cursor, monkeypatch.context() as patched:
            cursor.execute("BEGIN")
            patched.setattr(idempotency, "connection", other)
            idempotency._lock(scope, "k1")
            patched.undo()
            response = post(client, BODY)
            problem(response, 409, "in-progress")
            assert response["Retry-After"] == "1"
            cursor.execute("ROLLBACK")
    finally:
        other.close()
    assert post(client, BODY).status_code == 201
    assert Tree.objects.count() == 1


def test_old_keys_are_forgotten(city: object) -> None:
    client = as_role("forester")
    post(client, BODY, "old")
    IdempotencyKey.objects.update(made_at=timezone.now() - idempotency.KEPT - timedelta(minutes=1))
    post(client, BODY, "new")
    assert idempotency.purge() == 1
    assert IdempotencyKey.objects.get().key == "new"


def test_an_upload_counts_by_its_content(city: object) -> None:
    def content(data: bytes) -> Any:
        query = QueryDict(mutable=True)
        query["name"] = "a"
        query.setlist("file", [SimpleUploadedFile("trees.csv", data)])  # type: ignore[list-item]
        return idempotency._content(query)

    assert content(b"one") == content(b"one")
    assert content(b"one") != content(b"two")
