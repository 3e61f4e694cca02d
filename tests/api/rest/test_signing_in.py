"""Tokens and oneself: signing in, listing, revoking, preferences."""

from datetime import timedelta
from typing import Any
from unittest import mock

import pytest
from django.contrib.auth import hashers
from django.utils import timezone
from knox.models import get_token_model
from rest_framework.throttling import ScopedRateThrottle

from tests.support import build
from tests.support.http import V1, caller, problem

pytestmark = pytest.mark.django_db


def sign_in(email: str, password: str) -> Any:
    return caller().post(f"{V1}/tokens", {"email": email, "password": password})


def test_a_token_serves_until_it_is_revoked() -> None:
    person = build.user("contractor")
    made = sign_in(person.email.upper(), build.PASSWORD)
    assert made.status_code == 201
    assert made["Cache-Control"] == "no-store"
    client = caller()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {made.json()['token']}")
    (shown,) = client.get(f"{V1}/tokens").json()["items"]
    assert (shown["id"], shown["current"]) == (made.json()["id"], True)
    assert client.delete(f"{V1}/tokens/{shown['id']}").status_code == 204
    problem(client.get(f"{V1}/me"), 401, "not-signed-in")


def test_a_token_is_kept_as_a_digest_only() -> None:
    made = sign_in(build.user().email, build.PASSWORD).json()
    row = get_token_model().objects.get()
    assert made["token"] not in (row.digest, row.token_key)
    assert made["id"] not in made["token"]


def test_an_unknown_address_and_a_wrong_password_cannot_be_told_apart() -> None:
    person = build.user()
    gone = build.user(is_active=False)
    answers = []
    for email, password in (
        ("nobody@harrowmere.example", "x" * 12),
        (person.email, "x" * 12),
        (gone.email, build.PASSWORD),
    ):
        with mock.patch.object(
            hashers.MD5PasswordHasher, "encode", autospec=True, side_effect=hashers.MD5PasswordHasher.encode
        ) as work:
            body = problem(sign_in(email, password), 401, "not-signed-in")
        # The same work: one hash is computed whoever asks, so that the time tells nothing.
        answers.append(({name: body[name] for name in ("title", "detail")}, work.call_count))
    assert answers[0] == answers[1] == answers[2]
    assert answers[0][1] == 1


def test_a_worn_out_token_does_not_keep_anyone_from_signing_in() -> None:
    person = build.user()
    client = caller()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {'a' * 64}")
    answer = client.post(f"{V1}/tokens", {"email": person.email, "password": build.PASSWORD})
    assert answer.status_code == 201


def test_a_token_that_ran_out_is_worth_nothing() -> None:
    person = build.user()
    client = caller(person)
    get_token_model().objects.update(expiry=timezone.now() - timedelta(seconds=1))
    problem(client.get(f"{V1}/me"), 401, "not-signed-in")


def test_another_persons_token_cannot_be_revoked() -> None:
    other = build.user()
    token_id = sign_in(other.email, build.PASSWORD).json()["id"]
    problem(caller(build.user()).delete(f"{V1}/tokens/{token_id}"), 404, "not-found")
    assert get_token_model().objects.filter(user=other).exists()


def test_the_oldest_of_too_many_tokens_gives_way() -> None:
    person = build.user()
    first = sign_in(person.email, build.PASSWORD).json()["id"]
    for _ in range(20):
        assert sign_in(person.email, build.PASSWORD).status_code == 201
    rows = get_token_model().objects.filter(user=person)
    assert rows.count() == 20
    assert not rows.filter(digest__startswith=first).exists()


def test_guessing_is_slowed_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"sign-in": "3/min"})
    for _ in range(3):
        problem(sign_in("nobody@harrowmere.example", "x"), 401, "not-signed-in")
    answer = sign_in("nobody@harrowmere.example", "x")
    problem(answer, 429, "too-many")
    assert int(answer["Retry-After"]) > 0


def test_guessing_is_slowed_down_whatever_address_the_guesser_claims(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"sign-in": "3/min"})
    given = {"email": "nobody@harrowmere.example", "password": "x"}
    told = [
        caller().post(f"{V1}/tokens", given, headers={"X-Forwarded-For": f"192.0.2.{number}"}).status_code
        for number in range(5)
    ]
    assert told == [401, 401, 401, 429, 429]


def test_a_part_of_a_token_s_name_revokes_nothing() -> None:
    person = build.user()
    for _ in range(3):
        made = sign_in(person.email, build.PASSWORD).json()
    problem(caller(person).delete(f"{V1}/tokens/{made['id'][:1]}"), 404, "not-found")
    assert get_token_model().objects.filter(user=person).count() == 4


def test_a_person_sees_its_roles_and_sets_its_units() -> None:
    person = build.user("inspector")
    client = caller(person)
    assert client.get(f"{V1}/me").json() == {
        "name": person.name,
        "email": person.email,
        "qualification": "",
        "units": "si",
        "roles": ["inspector"],
    }
    assert client.patch(f"{V1}/me", {"units": "us"}).json()["units"] == "us"
    problem(client.patch(f"{V1}/me", {"units": "cubits"}), 400, "invalid")
    problem(client.patch(f"{V1}/me", {"name": "Other"}), 400, "invalid")
    person.refresh_from_db()
    assert person.units == "us"
