"""Options as JSON: plain values that come back as they were, for every kind and for trees of which little is known."""

import json

import pytest

from assessments.methods.options import KINDS, Choice, Standing, as_json, build, compared_as_json, propose, read_choice
from tests.support.option_case import case


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("tree", [None, Standing()], ids=["measured", "unknown"])
def test_every_option_is_plain_json(kind: str, tree: Standing | None) -> None:
    one = case() if tree is None else case(tree=tree)
    said = as_json(build(one, Choice(kind)))
    assert json.loads(json.dumps(said, allow_nan=False)) == said
    assert said["kind"] == kind
    assert len(said["risk_years"]) == said["horizon_years"] == len(said["cost_years"]) - 1


def test_what_was_set_by_hand_can_be_read_again() -> None:
    settings = {"percent": 12.0, "findings": [0]}
    option = build(case(), read_choice("reduce_crown", settings))
    said = as_json(option)
    assert said["settings"] == settings
    assert as_json(build(case(), read_choice("reduce_crown", said["settings"]))) == said


def test_the_comparison_has_a_row_for_each_option_in_order() -> None:
    options = propose(case())
    said = compared_as_json(options)
    assert [row["kind"] for row in said] == [option.kind for option in options]
    assert json.loads(json.dumps(said, allow_nan=False)) == said
