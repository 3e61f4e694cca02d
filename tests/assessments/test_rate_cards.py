"""The rate card: versions that are kept, in the municipality's currency, refused by name where a value is wrong."""

import json
from typing import Any

import pytest

from assessments import queries, services
from assessments.methods import rate_card as methods
from assessments.models import RateCard
from inventory.history import SERVICE
from inventory.models import Event
from inventory.problems import Invalid

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def shipped() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(methods.default_rate_card_text())
    return data


def test_the_shipped_card_is_in_force_before_any_is_adopted() -> None:
    assert queries.current_rate_card().version == 0
    assert queries.current_rate_card().data == shipped()


def test_a_new_version_is_numbered_and_the_old_one_stays() -> None:
    data = shipped()
    services.adopt_rate_card(SERVICE, data, "our contract rates")
    data["actions"]["remove"]["large"]["easy"]["cost"] = 777
    card = services.adopt_rate_card(SERVICE, data, "rates of next year")
    assert (card.version, card.data["version"]) == (2, "2")
    assert [one.version for one in queries.rate_cards()] == [2, 1]
    assert queries.current_rate_card().data["actions"]["remove"]["large"]["easy"]["cost"] == 777
    assert Event.objects.filter(kind="rate_card.adopted").count() == 2


@pytest.mark.parametrize(
    ("path", "value", "pointer"),
    [
        (("actions", "remove", "large", "easy", "cost"), -1, "#/rate_card/actions/remove/large/easy/cost"),
        (("currency",), "USD", "#/rate_card/currency"),
        (("colour",), "green", "#/rate_card/colour"),
    ],
)
def test_a_wrong_value_is_named_and_nothing_is_adopted(path: tuple[str, ...], value: object, pointer: str) -> None:
    data = shipped()
    inside = data
    for name in path[:-1]:
        inside = inside[name]
    inside[path[-1]] = value
    with pytest.raises(Invalid) as caught:
        services.adopt_rate_card(SERVICE, data, "a try")
    assert [error.pointer for error in caught.value.errors] == [pointer]
    assert not RateCard.objects.exists()


def test_a_card_needs_a_reason() -> None:
    with pytest.raises(Invalid, match="why"):
        services.adopt_rate_card(SERVICE, shipped(), " ")
    assert not RateCard.objects.exists()
