"""Each address with each role: who may not is told so, and no address is left out."""

import re
import uuid
from collections.abc import Iterator
from functools import cache
from typing import Any, Final

import pytest
from django.http import HttpResponse
from django.urls import URLPattern

from api.rest.urls import urlpatterns
from inventory.models import Tree, Zone
from tests.api.rest.access import ACCESS, ROLES, SIGNED_IN
from tests.support import build
from tests.support.http import V1, as_role, caller, key, problem

pytestmark = pytest.mark.django_db
METHODS: Final = ("get", "post", "put", "patch", "delete")


def addresses() -> Iterator[str]:
    """`METHOD pattern` of every handler below /api/v1/."""
    for entry in urlpatterns:
        assert isinstance(entry, URLPattern), "an included list of addresses is not walked: add its patterns flat"
        view: Any = entry.callback
        for method in METHODS:
            if hasattr(view.view_class, method):
                yield f"{method.upper()} {entry.pattern}"


@cache
def found() -> frozenset[str]:
    return frozenset(addresses())


def test_every_address_has_its_line_and_every_line_its_address() -> None:
    assert found() - set(ACCESS) == set(), "add these to tests/api/rest/access.py"
    assert set(ACCESS) - found() == set(), "these lines of tests/api/rest/access.py have no address"


def filled(pattern: str, tree: Tree, zone: Zone) -> str:
    """An address for a pattern: the tree or zone where it asks for one, else something that does not exist."""
    uid = tree.uid if pattern.startswith("trees/") else uuid.UUID(int=0)
    if pattern.startswith("sites/"):
        assert tree.site
        uid = tree.site.uid
    values = {"uuid": str(uid), "int": str(zone.pk), "slug": "0" * 16, "str": "x"}
    return re.sub(r"<(\w+):\w+>", lambda part: values[part[1]], pattern)


def ask(role: str | None, address: str, tree: Tree, zone: Zone) -> HttpResponse:
    method, pattern = address.split(" ", 1)
    send = getattr(as_role(role), method.lower())
    url = f"{V1}/{filled(pattern, tree, zone)}"
    response: HttpResponse = (
        send(url) if method == "GET" else send(url, {}, headers={**key(), "If-Match": '"0-000000000000"'})
    )
    return response


@pytest.mark.parametrize("address", sorted(ACCESS))
def test_only_those_who_may_get_past_the_door(city: object, address: str) -> None:
    zone, tree = build.zone(), build.tree()
    for role in (None, *ROLES):
        response = ask(role, address, tree, zone)
        if role in ACCESS[address]:
            asked_to_sign_in = address == "POST tokens" and response.status_code == 401
            assert response.status_code not in (401, 403, 405) or asked_to_sign_in, (role, response.content)
            assert response.status_code < 500, response.content
        elif role is None:
            problem(response, 401, "not-signed-in")
        else:
            problem(response, 403, "not-allowed")


@pytest.mark.parametrize("address", sorted(line for line, roles in ACCESS.items() if roles < SIGNED_IN))
def test_an_account_without_a_role_may_no_more_than_the_public(city: object, address: str) -> None:
    zone, tree = build.zone(), build.tree()
    client_without = build.user(role=None)
    method, pattern = address.split(" ", 1)
    send = getattr(caller(client_without), method.lower())
    problem(send(f"{V1}/{filled(pattern, tree, zone)}"), 403, "not-allowed")
