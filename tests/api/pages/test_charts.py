"""Small charts: bars to scale, nothing that is there unseen, the same in words, safe with any heading."""

from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from api.pages import charts
from inventory.intake.glance import Glance, histogram

SVG = "{http://www.w3.org/2000/svg}"


def picture(values: list[float], kind: str = "numbers") -> dict[str, Any]:
    found = histogram(np.array(values, float))
    return Glance(kind, len(values), len(set(values)), found).as_dict()


def drawn(markup: str) -> ElementTree.Element:
    return ElementTree.fromstring(f"<div>{markup}</div>")  # noqa: S314


def heights(root: ElementTree.Element) -> list[float]:
    return [float(rect.attrib["height"]) for rect in root.iter(f"{SVG}rect")]


@given(some.lists(some.integers(0, 30), min_size=1, max_size=100))
def test_a_bar_is_as_high_as_its_count_and_none_that_counts_is_unseen(values: list[int]) -> None:
    told = picture([float(value) for value in values])
    counts = [count for count in told["histogram"]["counts"] if count]
    bars = heights(drawn(charts.histogram("dbh", told, "cm")))
    highest = bars[counts.index(max(counts))]
    expected = [max(highest * count / max(counts), 1.5) for count in counts]
    assert bars == pytest.approx(expected, abs=0.06)


def test_the_chart_says_in_words_what_it_shows() -> None:
    told = picture([1.0, 2.0, 3.0, 4.0, 90.0])
    svg = drawn(charts.histogram("dbh", told, "in")).find(f"{SVG}svg")
    assert svg is not None
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-label"] == (
        "Histogram of dbh: half of 5 values are under 3\u00a0in; the smallest is 1, the largest 90"
    )


def test_years_have_no_thousands_apart() -> None:
    markup = charts.histogram("planted", picture([1998.0, 1999.0, 2004.0], "years"))
    assert "1,998" not in markup
    assert ">1998<" in markup
    assert ">2004<" in markup


def test_a_heading_is_text_and_no_markup() -> None:
    markup = charts.histogram('"><script>alert(1)</script>', picture([1.0, 2.0]))
    assert "<script" not in markup
    drawn(markup)


@pytest.mark.parametrize(("part", "whole", "width"), [(1, 2, "50"), (0, 5, "0"), (1, 10_000, "0.8"), (7, 5, "100")])
def test_a_bar_beside_a_number_is_its_share(part: int, whole: int, width: str) -> None:
    ground, bar = drawn(charts.bar(part, whole)).iter("rect")
    assert (ground.attrib["width"], bar.attrib["width"]) == ("100", width)


def test_a_bar_of_nothing_is_no_error() -> None:
    assert 'width="0"' in charts.bar(0, 0)
