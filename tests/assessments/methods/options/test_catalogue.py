"""The catalogue of alternatives: it names only what there is, and every kind has a rule and an effect."""

from dataclasses import replace

import pytest

from assessments.methods import tables
from assessments.methods.options import ENTRIES, KINDS
from assessments.methods.options.allowed import reasons
from assessments.methods.options.catalogue import _entry
from assessments.methods.rate_card import ACTIONS
from assessments.models.required_check import KINDS as CHECKS
from tests.support.option_case import case


def test_every_check_is_one_that_can_be_required() -> None:
    assert {entry.check for entry in ENTRIES.values()} - {""} <= set(CHECKS)


def test_every_action_that_is_priced_is_used() -> None:
    used = {action for entry in ENTRIES.values() for action in (*entry.now, *(one[0] for one in entry.upkeep))}
    assert used == set(ACTIONS)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_rule_of_its_own_and_cautions(kind: str) -> None:
    assert isinstance(reasons(case(), kind), tuple)
    assert all(text.strip() and text == text.strip() for text in ENTRIES[kind].cautions)
    assert replace(ENTRIES[kind]) == ENTRIES[kind]


@pytest.mark.parametrize(
    "change", [{"parts": "twig"}, {"findings": "worry"}, {"now": "pray"}, {"upkeep": "pray:1"}, {"changes": "luck"}]
)
def test_a_row_that_names_what_is_not_known_is_refused(change: dict[str, str]) -> None:
    (row,) = [row for row in tables.read("options") if row["kind"] == "remove_part"]
    with pytest.raises(ValueError, match=r"options\.csv: remove_part"):
        _entry(row | change)
