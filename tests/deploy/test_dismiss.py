"""An account that is closed is closed at once: tokens, sessions, roles; what its person wrote stays."""

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from inventory.history import Author
from inventory.people.models import Membership
from tests.support import build
from tests.support.http import V1, caller

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_neither_token_nor_session_nor_password_serves_a_closed_account() -> None:
    person = build.user("forester")
    device, browser = caller(person), Client()
    browser.force_login(person)
    assert (device.get(f"{V1}/due").status_code, browser.get(f"{V1}/due").status_code) == (200, 200)
    call_command("dismiss", person.email.upper())
    assert device.get(f"{V1}/due").status_code == 401
    assert browser.get(f"{V1}/due").status_code == 401
    given = {"email": person.email, "password": build.PASSWORD}
    assert caller().post(f"{V1}/tokens", given).status_code == 401
    assert not Membership.objects.filter(user=person, ended_on=None).exists()


def test_what_a_dismissed_person_wrote_keeps_its_author() -> None:
    person = build.user("forester")
    tree = build.tree()
    with Author(person.pk, "desk").acting("note taken"):
        type(tree).objects.filter(pk=tree.pk).update(note="leans")
    call_command("dismiss", person.email)
    acts = caller(build.user("auditor")).get(f"{V1}/trees/{tree.uid}/history").json()["items"]
    assert acts[0]["who"] == person.name


def test_one_role_ends_and_the_other_stays() -> None:
    person = build.user("inspector")
    Membership.objects.create(user=person, organisation=build.organisation(), role="forester", since="2020-01-01")
    call_command("dismiss", person.email, role="forester")
    assert caller(person).get(f"{V1}/me").json()["roles"] == ["inspector"]
    with pytest.raises(CommandError, match="does not hold"):
        call_command("dismiss", person.email, role="forester")


def test_an_unknown_address_is_refused() -> None:
    with pytest.raises(CommandError, match="has no account"):
        call_command("dismiss", "nobody@harrowmere.example")
