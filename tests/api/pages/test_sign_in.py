"""Signing in and out, the throttle that the pages share with the API, and the choice of units."""

from unittest import mock

import pytest
from django.core.cache import cache
from rest_framework.throttling import ScopedRateThrottle

from api.pages.views.sign_in import SignInThrottle
from tests.support import build
from tests.support.http import V1, caller
from tests.support.pages import text, visitor

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_a_person_signs_in_and_out() -> None:
    person, client = build.user("forester"), visitor()
    answer = client.post("/sign-in", {"username": person.email.upper(), "password": build.PASSWORD})
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert person.name in text(client.get("/"))
    assert client.post("/sign-out")["Location"] == "/sign-in"
    assert client.get("/")["Location"] == "/sign-in"


def test_a_wrong_password_is_told_without_saying_which_of_the_two_is_wrong() -> None:
    person = build.user("forester")
    for name in (person.email, "nobody@harrowmere.example"):
        page = text(visitor().post("/sign-in", {"username": name, "password": "wrong"}))
        assert "do not belong together" in page


def test_sign_in_goes_on_to_the_page_asked_for_and_nowhere_else() -> None:
    person = build.user("forester")
    sent = visitor().get("/due")
    assert sent["Location"] == "/sign-in?next=/due"
    for wanted, goes_to in (("/due", "/due"), ("https://elsewhere.example/", "/")):
        form = {"username": person.email, "password": build.PASSWORD, "next": wanted}
        assert visitor().post("/sign-in", form)["Location"] == goes_to


def test_pages_and_api_count_attempts_in_one_budget() -> None:
    person = build.user("forester")
    rates = {"sign-in": "3/min"}
    with (
        mock.patch.object(SignInThrottle, "THROTTLE_RATES", rates),
        mock.patch.object(ScopedRateThrottle, "THROTTLE_RATES", rates),
    ):
        cache.clear()
        for _ in range(2):
            visitor().post("/sign-in", {"username": person.email, "password": "wrong"})
        api = caller().post(f"{V1}/tokens", {"email": person.email, "password": "wrong"})
        assert api.status_code == 401
        answer = visitor().post("/sign-in", {"username": person.email, "password": build.PASSWORD})
    assert answer.status_code == 429
    assert int(answer["Retry-After"]) > 0
    assert "Too many attempts" in text(answer)


def test_units_are_kept_with_the_person() -> None:
    person = build.user("forester")
    tree = build.tree(dbh_cm=50.8)
    client = visitor(person)
    assert "51 cm" in text(client.get(f"/trees/{tree.uid}")).replace("\u00a0", " ")
    back = client.post("/units", {"units": "us", "next": f"/trees/{tree.uid}"})
    assert back["Location"] == f"/trees/{tree.uid}"
    assert "20 in" in text(client.get(f"/trees/{tree.uid}")).replace("\u00a0", " ")
    assert client.post("/units", {"units": "us", "next": "//elsewhere.example"})["Location"] == "/"
