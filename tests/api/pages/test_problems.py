"""Problem pages: each kind explained, each refusal of a page with its status, and never a trace."""

import pytest
from django.test import Client, override_settings

from api.http.kinds import KINDS
from api.pages.problems import MEANINGS
from tests.support import build
from tests.support.pages import text, visitor

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_every_kind_of_problem_has_a_page_in_plain_words() -> None:
    assert MEANINGS.keys() == KINDS.keys()
    for kind, about in KINDS.items():
        page = text(visitor().get(f"/problems/{kind}"))
        assert about.title in page or about.title.replace("'", "&#x27;") in page
        assert MEANINGS[kind][:30].replace("'", "&#x27;") in page
    assert visitor().get("/problems/no-such-kind").status_code == 404


def test_a_page_that_is_not_there_is_told_as_a_page() -> None:
    answer = visitor().get("/nowhere")
    assert answer.status_code == 404
    assert answer["Content-Type"].startswith("text/html")
    assert "Not found" in text(answer)


def test_a_form_without_its_token_is_refused() -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(build.user("forester"))
    answer = client.post("/loads", {})
    assert answer.status_code == 403
    assert "out of date" in text(answer)


@override_settings(DEBUG=False)
def test_a_fault_of_ours_shows_no_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr("inventory.queries.trees", broken)
    client = Client(raise_request_exception=False)
    answer = client.get("/trees")
    assert answer.status_code == 500
    assert "secret inside" not in text(answer)
    assert "Nothing was changed" in text(answer)


def test_pages_carry_no_inline_script_or_style() -> None:
    build.tree(tag="T1")
    for address in ("/trees", "/sign-in", "/problems/stale"):
        page = text(visitor().get(address))
        assert "style=" not in page
        assert "<style" not in page
        assert "onclick" not in page
        assert page.count("<script") == page.count('<script type="module" src=')
