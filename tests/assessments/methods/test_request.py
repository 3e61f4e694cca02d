"""A request is read strictly, and each wrong field is named by a JSON pointer."""

import math
from typing import Any

import pytest

from assessments.methods.problems import MethodProblem, number
from assessments.methods.request import Fields, beneath, escaped

KNOWN = ("height_m", "species", "shape", "in_leaf", "sections", "wind")


def pointers(problem: pytest.ExceptionInfo[MethodProblem]) -> list[str]:
    return [field.pointer for field in problem.value.fields]


def test_every_unknown_field_is_named() -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({"hieght_m": 3, "a/b": 1, "height_m": 3}, "", KNOWN)
    assert pointers(caught) == ["/hieght_m", "/a~1b"]


@pytest.mark.parametrize("value", [None, 3, "x", [], True])
def test_only_an_object_is_a_request(value: object) -> None:
    with pytest.raises(MethodProblem, match="must be an object"):
        Fields(value, "", KNOWN)


def test_a_hundred_thousand_unknown_fields_give_a_short_problem() -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({f"x{n}" * 50: 0 for n in range(100_000)}, "", KNOWN)
    assert len(caught.value.fields) == 20
    assert all(len(field.pointer) < 60 for field in caught.value.fields)


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, 10**400, "3", True, [1], 121])
def test_what_is_no_number_in_range_names_the_field(value: object) -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({"height_m": value}, "/tree", KNOWN).number("height_m", 0, 120)
    assert pointers(caught) == ["/tree/height_m"]


def test_null_counts_as_not_given() -> None:
    fields = Fields({"height_m": None}, "", KNOWN)
    assert fields.maybe("height_m", 0, 1) is None
    with pytest.raises(MethodProblem, match="is missing"):
        fields.number("height_m", 0, 1)


@pytest.mark.parametrize(("name", "value"), [("species", ""), ("species", " "), ("species", "x" * 101), ("species", 3)])
def test_a_text_is_neither_empty_nor_endless(name: str, value: object) -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({name: value}, "", KNOWN).text(name)
    assert pointers(caught) == [f"/{name}"]


def test_a_choice_and_a_flag_name_what_they_take() -> None:
    fields = Fields({"shape": ["cone"], "in_leaf": 1}, "", KNOWN)
    with pytest.raises(MethodProblem, match="one of cone, dome"):
        fields.choice("shape", ("cone", "dome"), "cone")
    with pytest.raises(MethodProblem, match="true or false"):
        fields.flag("in_leaf")


def _one(value: object, pointer: str) -> float:
    return number(value, pointer, 0, 10)


def test_the_wrong_items_of_an_array_are_gathered() -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({"sections": [1, -1, 2, "x"]}, "", KNOWN).items("sections", 10, _one)
    assert pointers(caught) == ["/sections/1", "/sections/3"]


@pytest.mark.parametrize("value", ["abc", {"a": 1}, 3, [], [1] * 11])
def test_an_array_is_one_and_neither_too_short_nor_too_long(value: Any) -> None:
    with pytest.raises(MethodProblem) as caught:
        Fields({"sections": value}, "", KNOWN).items("sections", 10, _one, least=1)
    assert pointers(caught) == ["/sections"]


def test_a_nested_problem_is_moved_beneath_its_field() -> None:
    assert beneath("/a/0", MethodProblem("", "must be an object")).fields[0].pointer == "/a/0"
    assert escaped("~/" * 100) == "~0~1" * 20
