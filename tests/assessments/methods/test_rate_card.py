"""The rate card: whole, strict, and read by size and access."""

import copy
import json
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given as for_all
from hypothesis import strategies as st

from assessments.methods import rate_card
from assessments.methods.options import Assumptions
from assessments.methods.problems import MethodProblem
from assessments.methods.rate_card import ACCESS, ACTIONS, SIZES, RateCard, default_rate_card


def shipped() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(rate_card.default_rate_card_text())
    return data


def test_the_shipped_card_says_that_its_figures_are_invented() -> None:
    assert "Invented" in shipped()["notes"]["actions"]


def test_every_action_size_and_access_has_a_rate() -> None:
    card = default_rate_card()
    assert set(card.rates) == {(a, s, x) for a in ACTIONS for s in SIZES for x in ACCESS}


@pytest.mark.parametrize("action", ACTIONS)
def test_a_larger_stem_or_a_worse_access_never_costs_less_on_the_shipped_card(action: str) -> None:
    card = default_rate_card()
    by_size = [card.rate(action, dbh).cost for dbh in (10, 40, 70, 120)]
    by_access = [card.rate(action, 40, access).cost for access in ACCESS]
    assert by_size == sorted(by_size)
    assert by_access == sorted(by_access)


@for_all(st.floats(0, 1000))
def test_a_stem_belongs_to_the_class_that_begins_at_or_below_it(dbh_cm: float) -> None:
    card = default_rate_card()
    place = SIZES.index(card.size(dbh_cm))
    assert card.size_from_cm[place] <= dbh_cm
    assert place == len(SIZES) - 1 or dbh_cm < card.size_from_cm[place + 1]


@pytest.mark.parametrize(
    ("path", "value", "pointer"),
    [
        (("currency",), "eur", "/currency"),
        (("size_from_cm", "small"), 5, "/size_from_cm/small"),
        (("size_from_cm", "large"), 30, "/size_from_cm/large"),
        (("actions", "remove", "large", "easy", "cost"), -1, "/actions/remove/large/easy/cost"),
        (("actions", "remove", "large", "easy", "cost"), "12", "/actions/remove/large/easy/cost"),
        (("actions", "remove", "large", "easy"), None, "/actions/remove/large/easy"),
        (("actions", "remove", "large"), 3, "/actions/remove/large"),
        (("actions", "paint"), {}, "/actions/paint"),
        (("assumptions", "horizon_years"), 2.5, "/assumptions/horizon_years"),
        (("assumptions", "discount_rate_percent"), 80, "/assumptions/discount_rate_percent"),
        (("assumptions", "growth_region"), "the moon", "/assumptions/growth_region"),
        (("appraisal", "condition_percent"), 101, "/appraisal/condition_percent"),
        (("colour",), "green", "/colour"),
        (("notes",), 3, "/notes"),
    ],
)
def test_a_wrong_value_is_named(path: tuple[str, ...], value: object, pointer: str) -> None:
    data = copy.deepcopy(shipped())
    inside = data
    for name in path[:-1]:
        inside = inside[name]
    inside[path[-1]] = value
    with pytest.raises(MethodProblem) as caught:
        RateCard.from_data(data)
    assert [field.pointer for field in caught.value.fields] == [pointer]


@pytest.mark.parametrize("data", [None, [], "card", {}])
def test_what_is_no_card_is_refused(data: object) -> None:
    with pytest.raises(MethodProblem):
        RateCard.from_data(data)


def test_assumptions_of_any_card_are_those_that_options_take() -> None:
    card = default_rate_card()
    assert asdict(Assumptions(**card.assumptions)) == {**asdict(Assumptions()), **card.assumptions}
    for name, (least, most) in rate_card.ASSUMED.items():
        for value in (least, most):
            given: dict[str, Any] = {name: int(value) if name in rate_card.WHOLE else value}
            assert getattr(Assumptions(**given), name) == value


@pytest.mark.parametrize("note", ["x" * 2001, "a\x00b"])
def test_a_note_is_short_and_of_signs_that_can_be_kept(note: str) -> None:
    for notes, pointer in (({"mine": note}, "/notes/mine"), ({str(n): "said" for n in range(101)}, "/notes")):
        with pytest.raises(MethodProblem) as caught:
            RateCard.from_data(shipped() | {"notes": notes})
        assert [field.pointer for field in caught.value.fields] == [pointer]
    assert RateCard.from_data(shipped() | {"notes": {"mine": "x" * 2000}})
