"""The page of the rate card: the one in force as tables, versions kept, a new one adopted or refused by name."""

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from api.pages import rates
from assessments import queries
from assessments.methods import rate_card
from assessments.models import RateCard
from tests.support.pages import Town, text, visitor

pytestmark = pytest.mark.django_db


def shipped() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(rate_card.default_rate_card_text())
    return found


def test_before_one_is_adopted_the_page_says_that_the_figures_are_invented(place: Town) -> None:
    page = text(visitor(place.people["auditor"]).get("/rate-card"))
    assert "These figures are invented." in page
    assert page.count("<caption") == len(rate_card.ACTIONS)
    assert "Adopt a new card" not in page


def test_the_form_offers_the_card_in_force_as_it_is(place: Town) -> None:
    card = shipped()
    offered = json.loads(rates.text_of(card))
    assert offered == {name: value for name, value in card.items() if name != "version"}


def test_every_assumption_and_action_of_a_card_has_its_words(place: Town) -> None:
    card = shipped()
    card["assumptions"] = dict.fromkeys(rate_card.ASSUMED, 1)
    shown = rates.shown(card)
    assert len(shown.assumed) == len(rate_card.ASSUMED)
    assert ("Horizon", 1, "year") in shown.assumed
    assert len({table.action for table in shown.tables}) == len(rate_card.ACTIONS)


def test_a_pasted_card_is_adopted_and_the_one_before_stays_readable(place: Town) -> None:
    client, card = visitor(place.people["forester"]), shipped()
    for cost in (111111, 222222):
        card["actions"]["remove"]["small"]["easy"]["cost"] = cost
        sent = {"card": json.dumps(card), "why": f"Contract of {cost}"}
        assert client.post("/rate-card/new", sent).status_code == 302
    assert "222,222" in text(client.get("/rate-card"))
    before = text(client.get("/rate-card?version=1"))
    assert "111,111" in before
    assert "replaced since" in before
    assert "Contract of 222222" in before
    assert client.get("/rate-card?version=7").status_code == 404
    assert client.get("/rate-card?version=-1").status_code == 400


def test_a_file_takes_the_place_of_the_text(place: Town) -> None:
    card = shipped()
    card["actions"]["plant"]["large"]["ordinary"]["cost"] = 4321
    file = SimpleUploadedFile("card.json", json.dumps(card).encode(), "application/json")
    sent = {"file": file, "card": "nonsense", "why": "new prices"}
    assert visitor(place.people["forester"]).post("/rate-card/new", sent).status_code == 302
    assert queries.current_rate_card().data["actions"]["plant"]["large"]["ordinary"]["cost"] == 4321


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            lambda card: card["actions"]["remove"]["small"]["easy"].update(cost=-1),
            "actions › remove › small › easy › cost",
        ),
        (lambda card: card["actions"].pop("plant"), "actions › plant"),
        (lambda card: card.update(currency="USD"), "the municipality counts in EUR"),
        (lambda card: card.update(extra=1), "extra"),
    ],
)
def test_each_wrong_value_is_named_and_nothing_is_adopted(place: Town, change: Any, said: str) -> None:
    card = shipped()
    change(card)
    sent = {"card": json.dumps(card), "why": "new prices"}
    answer = visitor(place.people["forester"]).post("/rate-card/new", sent)
    assert answer.status_code == 400
    page = text(answer)
    assert said in page[page.index('id="id_card_errors"') :]
    assert not RateCard.objects.exists()


@pytest.mark.parametrize("content", [b"{", b"[]", b"\xff\xfe", b"[" * 100_000])
def test_what_is_no_card_is_refused_at_its_field(place: Town, content: bytes) -> None:
    sent = {"file": SimpleUploadedFile("card.json", content), "why": "new prices"}
    answer = visitor(place.people["forester"]).post("/rate-card/new", sent)
    assert answer.status_code == 400
    assert 'id="id_file_errors"' in text(answer)


def test_a_card_needs_its_reason(place: Town) -> None:
    answer = visitor(place.people["forester"]).post("/rate-card/new", {"card": json.dumps(shipped()), "why": " "})
    assert answer.status_code == 400
    assert 'id="id_why_errors"' in text(answer)


@pytest.mark.parametrize(
    ("role", "see", "adopt"),
    [
        ("forester", 200, 200),
        ("inspector", 200, 403),
        ("public_works", 200, 403),
        ("auditor", 200, 403),
        ("contractor", 403, 403),
    ],
)
def test_each_role_gets_what_the_interface_gives_it(place: Town, role: str, see: int, adopt: int) -> None:
    client = visitor(place.people[role])
    assert (client.get("/rate-card").status_code, client.get("/rate-card/new").status_code) == (see, adopt)
