"""Callers of the REST interface for tests, and what every problem document must hold."""

import uuid
from typing import Any

from django.http import HttpResponse
from knox.models import get_token_model
from rest_framework.test import APIClient

from api.http.kinds import KINDS
from inventory.people.models import User
from tests.support import build

V1 = "/api/v1"


def caller(user: User | None = None) -> APIClient:
    """A client with the user's token (None: the public); server errors come as answers, not as exceptions."""
    client = APIClient(raise_request_exception=False)
    if user is not None:
        _, token = get_token_model().objects.create(user)
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def as_role(role: str | None) -> APIClient:
    """A client of a new user with one role (None: the public)."""
    return caller(build.user(role) if role else None)


def key() -> dict[str, str]:
    """A new Idempotency-Key as header."""
    return {"Idempotency-Key": str(uuid.uuid4())}


def problem(response: HttpResponse, status: int, kind: str) -> dict[str, Any]:
    """Assert that the answer is a problem of this status and kind (RFC 9457); return it."""
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    body: dict[str, Any] = response.json()  # type: ignore[attr-defined]
    assert body["type"] == f"/problems/{kind}"
    assert body["status"] == status == KINDS[kind].status
    assert body["title"]
    assert body["detail"]
    assert body["instance"].startswith("/")
    assert "request_id" in body
    assert not any(word in response.content.decode() for word in ("Traceback", "SELECT", "INSERT", "psycopg", "DETAIL"))
    return body


def pointers(body: dict[str, Any]) -> set[str]:
    """The places that a problem names."""
    return {error.get("pointer") or f"?{error['parameter']}" for error in body.get("errors", ())}
