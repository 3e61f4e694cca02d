"""Glances at columns: every value is in one bar or beside the bars; texts with their rows; text pictures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from inventory.intake.glance import COMMONEST, FEW_VALUES, MOST_BARS, MOST_WORDS, glance, histogram, sparkline, told
from inventory.intake.names import Catalogue
from inventory.intake.profile import Profile

NUMBERS = some.lists(some.floats(-1e9, 1e9), min_size=1, max_size=200)


def column(cells: list[str], heading: str = "c") -> Profile:
    return Profile(heading, len(cells), cells, Catalogue([]))


@given(NUMBERS)
def test_every_value_is_in_one_bar_or_beside_the_bars(values: list[float]) -> None:
    found = histogram(np.array(values))
    assert sum(found.counts) + found.below + found.above == len(values)
    assert 1 <= len(found.counts) <= MOST_BARS + 2
    assert found.smallest <= found.median <= found.largest
    # The tails are a hundredth together at most.
    assert found.below + found.above <= 0.01 * len(values)


@given(some.lists(some.integers(0, 400), min_size=1, max_size=200))
def test_whole_numbers_are_counted_as_numpy_counts_them_on_the_same_edges(values: list[int]) -> None:
    found = histogram(np.array(values, float))
    assert found.step == int(found.step)
    edges = found.low + found.step * np.arange(len(found.counts) + 1) - 0.5
    assert np.histogram(values, edges)[0].tolist() == found.counts


def test_a_slip_of_the_pen_does_not_flatten_the_picture() -> None:
    found = histogram(np.array([*range(1000), 1e12]))
    assert found.largest == 1e12
    assert 1 <= found.above <= 6
    assert found.high <= 1100


def test_sizes_with_units_behind_them_are_numbers() -> None:
    found = glance(column([f"{n} ft" for n in range(40)]))
    assert found.kind == "numbers"
    assert found.histogram is not None
    assert found.histogram.median == 19.5


def test_dates_are_told_by_their_years() -> None:
    found = glance(column([f"{1990 + n % 20}-05-01" for n in range(100)]), "ymd")
    assert found.kind == "years"
    assert found.histogram is not None
    assert (found.histogram.low, sum(found.histogram.counts)) == (1990, 100)
    assert found.histogram.counts == [5] * 20


def test_a_few_codes_are_told_value_by_value() -> None:
    found = glance(column([str(n % FEW_VALUES) for n in range(120)]))
    assert found.kind == "texts"
    assert dict(found.texts) == {str(n): 10 for n in range(FEW_VALUES)}


@pytest.mark.parametrize(("distinct", "listed"), [(MOST_WORDS, MOST_WORDS), (MOST_WORDS + 1, COMMONEST)])
def test_words_that_can_be_mapped_are_all_told(distinct: int, listed: int) -> None:
    found = glance(column([f"word {n}" for n in range(distinct)]))
    assert (len(found.texts), found.distinct) == (listed, distinct)


def test_an_empty_column_has_nothing_to_show() -> None:
    found = glance(column([]))
    assert found.as_dict() == {"kind": "empty", "values": 0, "distinct": 0}


def test_the_terminal_gets_one_line_a_column() -> None:
    assert sparkline([0, 1, 2, 4, 8]) == " ▁▂▄█"
    # The longest bar belongs to the commonest value; nobody is rounded away.
    assert sparkline([1, 1_000_000]) == "▁█"
    assert told(glance(column([str(n) for n in range(20)]))) == "0 " + 20 * "█" + " 20"
    assert told(glance(column(["lime", "lime", "oak"]))) == "█ lime 2  ▄ oak 1"
