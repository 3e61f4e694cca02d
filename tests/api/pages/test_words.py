"""Words and sizes as the pages say them."""

import doctest

import pytest

from api.pages import svg, words
from assessments.methods import catalogue
from assessments.models import inspection, required_check, target
from assessments.works import states
from inventory import units
from inventory.models import site, support, tree


@pytest.mark.parametrize("module", [units, words, svg])
def test_the_examples_in_the_docstrings_hold(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


def test_no_code_is_shown_with_an_underscore() -> None:
    codes = [
        *inspection.LEVELS,
        *inspection.TRIGGERS,
        *required_check.KINDS,
        *required_check.SOURCES,
        *target.KINDS,
        *states.ACTIONS,
        *states.ITEM_STATES,
        *states.ORDER_STATES,
        *tree.STATES,
        *site.GROWING_SPACES,
        *site.OVERHEAD_LINES,
        *support.KINDS,
    ]
    for code in codes:
        said = words.say(code)
        assert said, code
        assert "_" not in said
        assert said[0].isupper()


def test_every_finding_and_part_has_its_label() -> None:
    for kind in catalogue.KINDS.values():
        assert words.finding_kind(kind.name) == kind.label
        said = words.measures(kind.name, {name: one.example for name, one in kind.measures.items()})
        assert len(said) == len(kind.measures)
        assert not any("_" in text for text in said)
    for part in catalogue.PARTS.values():
        assert words.part(part.name) == part.label


def test_sizes_by_definition() -> None:
    # 1 in = 2.54 cm and 1 ft = 0.3048 m exactly (international yard and pound agreement of 1959).
    assert units.diameter(25.4, "us") == "10\u00a0in"
    assert units.length(30.48, "us") == "100\u00a0ft"
    assert units.diameter_class(33.02, 45.72, "us") == "13–18\u00a0in"
    assert units.diameter_class(None, 30.0) == "up to 30\u00a0cm"
    assert units.diameter_class(100.0, None) == "over 100\u00a0cm"
    assert units.quantity(25.4, "mm", "us") == "1\u00a0in"
    assert units.quantity(12, "degrees", "us") == "12\u00a0degrees"
