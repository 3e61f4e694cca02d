"""Query parameters: strict, and every fault named at once."""

import math

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from api.http import paging, params
from inventory.problems import Invalid

DECLARED = (
    params.integer("n", "A number.", low=0, high=10),
    params.day("on", "A day."),
    params.word("state", "A state.", ("alive", "dead"), default="alive"),
    params.box(),
    params.uid("uid", "A key."),
    params.text("q", "Words.", longest=10),
    params.number("cm", "A size.", low=0, high=100),
    *paging.PAGING,
)


def wrong(query: str) -> set[str]:
    with pytest.raises(Invalid) as caught:
        params.read(QueryDict(query), DECLARED)
    return {error.pointer for error in caught.value.errors}


def test_absent_parameters_have_their_defaults() -> None:
    assert params.read(QueryDict(""), DECLARED) == {
        "n": None, "on": None, "state": "alive", "bbox": None, "uid": None, "q": None, "cm": None,
        "limit": 100, "after": None,
    }  # fmt: skip


@pytest.mark.parametrize(
    "query",
    [
        "n=", "n=abc", "n=1.5", "n=11", "n=-1", "n=+1", "n=1e3", "n=٣", "n=1&n=2", "on=2026-02-30", "on=20260101",
        "on=1.1.2026", "state=Alive", "bbox=1,2,3", "bbox=1,2,3,4,5", "bbox=1,2,3,nan", "bbox=1,2,3,1e99",
        "bbox=0,2,1,1", "bbox=-181,0,0,0", "bbox=0,0,0,91", "bbox=a,b,c,d", "bbox=", "uid=1",
        "uid=8f14e45fceea4c8a9c1b2f3a1d0e7b60", "q=", "q=12345678901", "q=a%00", "cm=inf", "cm=-1", "cm=NaN", "cm=",
        "limit=0", "limit=-1", "limit=abc", "limit=1.0", "after=x", "after=W10", "after=WyJhIl0",
    ],
)  # fmt: skip
def test_a_wrong_value_names_its_parameter(query: str) -> None:
    assert wrong(query) == {f"?{query.split('=', 1)[0]}"}


def test_unknown_parameters_are_refused_and_named_with_the_other_faults() -> None:
    assert wrong("page=2&offset=3&n=x") == {"?page", "?offset", "?n"}


def test_a_limit_above_the_largest_counts_as_the_largest() -> None:
    # OGC API Features 17-069r4, /req/core/fc-limit-response-1: a larger value is not an error.
    assert params.read(QueryDict("limit=1000000"), DECLARED)["limit"] == paging.LARGEST


def test_a_box_may_cross_the_antimeridian() -> None:
    assert params.read_box("170,-10,-170,10") == (170.0, -10.0, -170.0, 10.0)


@given(st.text(max_size=40))
def test_a_box_is_four_numbers_in_range_or_refused(text: str) -> None:
    try:
        west, south, east, north = params.read_box(text)
    except ValueError:
        return
    assert all(map(math.isfinite, (west, south, east, north)))
    assert -90 <= south <= north <= 90


@given(st.lists(st.integers(-(2**62), 2**62) | st.text(max_size=20), max_size=3))
def test_a_cursor_gives_back_what_it_was_made_of(values: list[int | str]) -> None:
    assert paging.decode(paging.encode(*values), *map(type, values)) == values


@given(st.text(max_size=30))
def test_any_other_text_is_no_cursor(text: str) -> None:
    try:
        values = paging.decode(text, int)
    except ValueError:
        return
    assert paging.encode(*values) == text
