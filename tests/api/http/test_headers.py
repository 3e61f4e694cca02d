"""Response headers: strict content policy, nothing personal kept, what the answer varies by."""

import pytest
from django.test import Client

from tests.support.http import V1, as_role, caller

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("address", [f"{V1}/species", "/sign-in", "/nothing", f"{V1}/docs", "/health/live"])
def test_no_script_runs_but_our_own(city: object, address: str) -> None:
    response = Client().get(address)
    policy = dict(part.strip().split(" ", 1) for part in response["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == "'self'"
    assert policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in response["Content-Security-Policy"]
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "geolocation" in response["Permissions-Policy"]
    assert response["Cross-Origin-Opener-Policy"] == "same-origin"


def test_what_depends_on_the_person_is_not_stored(city: object) -> None:
    assert as_role("forester").get(f"{V1}/me")["Cache-Control"] == "no-store"
    assert as_role("forester").get(f"{V1}/trees")["Cache-Control"] == "no-store"
    assert "Cache-Control" not in caller().get(f"{V1}/species")


def test_the_answer_says_by_what_it_varies(city: object) -> None:
    varies = {word.strip() for word in caller().get(f"{V1}/species")["Vary"].split(",")}
    assert {"Accept", "Authorization", "Cookie"} <= varies
