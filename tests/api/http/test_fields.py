"""Serializer fields: what the document says and nothing near it."""

import math
from typing import Any

import pytest
from rest_framework import serializers

from api.http import fields
from api.http.problem import pointers


class Inner(fields.Body):
    x = fields.Number(min_value=0, max_value=1)


class Everything(fields.Body):
    number = fields.Number()
    whole = fields.Whole()
    text = fields.Text(max_length=5)
    flag = fields.Flag()
    word = fields.Word(choices=("a", "b"))
    day = fields.Day()
    instant = fields.Instant()
    uid = fields.Uid()
    place = fields.Geometry(("Point",))
    inner = Inner(many=True)
    array = fields.Array(child=fields.Whole())


GOOD = {
    "number": 1,
    "whole": 2.0,
    "text": "five5",
    "flag": True,
    "word": "a",
    "day": "2026-01-31",
    "instant": "2026-01-31T09:30:00+01:00",
    "uid": "8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60",
    "place": {"type": "Point", "coordinates": [-29.5, 45.0]},
    "inner": [{"x": 0.5}],
    "array": [1],
}


def wrong(changes: dict[str, Any]) -> set[str]:
    body = Everything(data=GOOD | changes)
    assert not body.is_valid()
    return {error.pointer for error in pointers(body.errors)}


def test_good_values_pass() -> None:
    body = Everything(data=GOOD)
    body.is_valid(raise_exception=True)
    assert body.validated_data["whole"] == 2
    assert isinstance(body.validated_data["whole"], int)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("number", ["1", True, None, math.nan, math.inf, 10**400, [], {}]),
        ("whole", ["1", True, 1.5, 2**31, 10**30, math.inf]),
        ("text", [1, True, None, "", "sixsix", "a\x00", "\x1b[3m", "a\x9bb", "a\nb", "\u202eab", [], {}]),
        ("flag", ["true", 1, 0, "yes", None]),
        ("word", ["c", "", 1, ["a"], None, True]),
        ("day", ["0001-01-01", "9999-12-31"]),
        ("day", ["2026-02-30", "20260131", "2026-W05-1", "2026-1-31", 20260131, "2026-01-31T00:00:00Z", None]),
        ("instant", ["2026-01-31", "2026-01-31T09:30:00", "2026-01-31 09:30:00Z", "2026-02-30T09:30:00Z",
                     "2026-01-31T24:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", 1]),
        ("uid", ["8f14e45fceea4c8a9c1b2f3a1d0e7b60", 5, "urn:uuid:8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60", "x"]),
        ("place", [None, [], {"type": "Polygon"}]),
        ("array", [{}, "ab", 1]),
    ],
)  # fmt: skip
def test_near_values_are_refused(name: str, values: list[Any]) -> None:
    for value in values:
        assert {pointer.split("/")[1] for pointer in wrong({name: value})} == {name}, value


def test_a_long_text_may_have_lines_and_any_script() -> None:
    written = "first\n\tsecond: שלום\u2066 ok"
    assert fields.Text().run_validation(written) == written
    with pytest.raises(serializers.ValidationError):
        fields.Text().run_validation("red \x1b[31m")


def test_an_unknown_member_is_named_wherever_it_stands() -> None:
    assert wrong({"more": 1}) == {"#/more"}
    assert wrong({"inner": [{"x": 0}, {"x": 0, "y": 1}]}) == {"#/inner/1/y"}


def test_an_answer_does_not_grow_with_the_unknown_members() -> None:
    assert len(wrong({f"more{number}": 1 for number in range(10_000)})) == fields.MOST_NAMED


def test_the_place_inside_a_geometry_is_named() -> None:
    place = {"type": "Point", "coordinates": [math.nan, 1]}
    assert wrong({"place": place}) == {"#/place/coordinates"}


def test_a_body_must_be_an_object() -> None:
    values: list[Any] = [[], "x", 1, None]
    for value in values:
        with pytest.raises(serializers.ValidationError):
            Inner(data=value).is_valid(raise_exception=True)


@pytest.mark.parametrize("text", ["\u200b", "\u2060\ufeff", "\u00ad", "\u2003\u200d"])
def test_a_text_that_no_line_shows_is_as_good_as_empty(text: str) -> None:
    assert wrong({"text": text}) == {"#/text"}
    assert fields.Text(allow_blank=True).run_validation(text) == ""
    assert fields.Text().run_validation("\U0001f333") == "\U0001f333"
