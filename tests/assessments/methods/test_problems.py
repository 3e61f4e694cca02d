"""A problem names every wrong field by JSON pointer; a number is finite and inside its bounds."""

import math

import pytest

from assessments.methods.problems import MethodProblem, WrongField, number


def test_a_problem_names_its_first_field_and_counts_the_others() -> None:
    problem = MethodProblem.of([WrongField("/a", "is missing"), WrongField("/b/0", "is negative")])
    assert str(problem) == "a: is missing (and 1 more)"
    assert [field.pointer for field in problem.fields] == ["/a", "/b/0"]


def test_a_problem_needs_a_field() -> None:
    with pytest.raises(ValueError, match="needs a field"):
        MethodProblem.of([])


def test_the_whole_request_can_be_wrong() -> None:
    assert str(MethodProblem("", "must be an object")) == "request: must be an object"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 10**400, -0.1, 120.1, "3", None, True, [3]])
def test_what_is_no_number_inside_the_bounds_is_a_problem(value: object) -> None:
    with pytest.raises(MethodProblem) as caught:
        number(value, "/height_m", 0, 120)
    assert caught.value.fields[0].pointer == "/height_m"


def test_bounds_are_included_unless_said_otherwise() -> None:
    assert number(0, "/height_m", 0, 120) == 0
    assert number(120, "/height_m", 0, 120) == 120
    with pytest.raises(MethodProblem, match="more than 0"):
        number(0, "/diameter_cm", 0, 120, above=True)
