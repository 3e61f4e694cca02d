"""Value of information: equal to enumeration of every plan, never negative before cost, and its verdicts."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.information import (
    Action,
    Diagnosis,
    Problem,
    compute,
    normal_instrument,
    spread,
    study,
    value,
    word_instrument,
)
from assessments.methods.problems import MethodProblem


def shares(count: int) -> st.SearchStrategy[tuple[float, ...]]:
    """Chances that sum to 1."""
    weights = st.lists(st.floats(0.001, 1), min_size=count, max_size=count)
    return weights.map(lambda found: tuple(one / sum(found) for one in found))


@st.composite
def cases(draw: st.DrawFn) -> tuple[Problem, Diagnosis]:
    states, actions, readings = draw(st.integers(2, 3)), draw(st.integers(1, 3)), draw(st.integers(1, 3))
    harm = st.lists(st.floats(0, 0.1), min_size=states, max_size=states).map(tuple)
    options = tuple(Action(str(place), draw(st.floats(0, 10_000)), draw(harm)) for place in range(actions))
    rows = tuple(draw(shares(readings)) for _ in range(states))
    names = tuple(map(str, range(states)))
    return Problem(names, draw(shares(states)), options), Diagnosis(
        "look", 100.0, tuple(map(str, range(readings))), rows
    )


def enumerated(problem: Problem, diagnosis: Diagnosis, rate: float) -> float:
    """The least expected loss over every plan that names an action for each reading, by brute force."""
    return min(
        sum(
            prior * chance * (action.cost + rate * action.harm[state])
            for state, prior in enumerate(problem.prior)
            for action, chance in zip(plan, diagnosis.chance[state], strict=True)
        )
        for plan in product(problem.actions, repeat=len(diagnosis.readings))
    )


def now(problem: Problem, rate: float) -> float:
    return min(
        sum(prior * (action.cost + rate * harm) for prior, harm in zip(problem.prior, action.harm, strict=True))
        for action in problem.actions
    )


@given(cases(), st.floats(1e3, 1e7))
def test_the_value_equals_the_enumeration_of_every_plan(case: tuple[Problem, Diagnosis], rate: float) -> None:
    problem, diagnosis = case
    found = value(problem, diagnosis, rate)
    assert found.loss_now == pytest.approx(now(problem, rate), rel=1e-9, abs=1e-6)
    assert found.loss_after == pytest.approx(enumerated(problem, diagnosis, rate), rel=1e-9, abs=1e-6)
    assert found.net == pytest.approx(found.loss_now - found.loss_after - 100.0, rel=1e-9, abs=1e-4)


@given(cases(), st.floats(1e3, 1e7))
def test_before_its_cost_no_reading_is_worth_less_than_nothing(case: tuple[Problem, Diagnosis], rate: float) -> None:
    found = value(*case, rate)
    # The loss itself, not the figure shown, which is held at 0.
    assert found.loss_now - found.loss_after >= -1e-9 * max(found.loss_now, 1.0)
    assert found.gross >= 0


@given(cases(), st.floats(1e3, 1e7))
def test_a_perfect_reading_is_worth_at_least_as_much_as_any(case: tuple[Problem, Diagnosis], rate: float) -> None:
    problem, diagnosis = case
    count = len(problem.states)
    perfect = Diagnosis("know", 0.0, problem.states, spread(count, 1.0))
    assert value(problem, perfect, rate).gross >= value(problem, diagnosis, rate).gross - 1e-6


def test_a_reading_that_tells_nothing_is_worth_nothing() -> None:
    problem = Problem(("a", "b"), (0.5, 0.5), (Action("fell", 1000, (0, 0)), Action("keep", 0, (0, 0.004))))
    blind = Diagnosis("look away", 10, ("yes", "no"), ((0.3, 0.7), (0.3, 0.7)))
    assert value(problem, blind, 1e6).gross == pytest.approx(0, abs=1e-9)
    assert study(problem, blind, 1e6).says == "Not worth its cost: no reading would change what is best to do."


KEEP_OR_FELL = Problem(
    ("sound", "hollow"), (0.7, 0.3), (Action("fell", 2000, (0.0, 0.0)), Action("keep", 0, (0.0, 0.004)))
)
SURE = Diagnosis("open", 300, ("sound", "hollow"), ((1.0, 0.0), (0.0, 1.0)))


@pytest.mark.parametrize(
    ("rate", "verdict"),
    # At a tenth and once the rate keeping is best whatever the reading, at ten times it is not.
    [(1e4, "not_worthwhile"), (2e5, "undetermined"), (1e7, "worthwhile")],
)
def test_the_verdict_is_undetermined_where_the_sign_changes(rate: float, verdict: str) -> None:
    found = study(KEEP_OR_FELL, SURE, rate)
    assert found.verdict == verdict
    assert [one.money_per_harm / rate for one in found.values] == pytest.approx([0.1, 1, 10])
    assert ("Undetermined" in found.says) == (verdict == "undetermined")


def test_the_plan_says_what_each_reading_leads_to() -> None:
    found = value(KEEP_OR_FELL, SURE, 1e7)
    assert found.action_now == "fell"
    assert [(one.reading, one.action) for one in found.plan] == [("sound", "keep"), ("hollow", "fell")]
    assert found.gross == pytest.approx(0.7 * 2000)


def test_an_instrument_with_a_normal_error_misses_evenly() -> None:
    found = normal_instrument("drill", 300, (10.0, 20.0), 5.0, (15.0,), "cm")
    assert found.chance[0][1] == pytest.approx(found.chance[1][0])
    assert found.readings == ("below 15 cm", "from 15 cm")
    assert found.error == "normal, standard deviation 5 cm"


def test_a_word_is_read_right_or_as_its_neighbour() -> None:
    found = word_instrument("drill", 300, ("a", "b", "c"), 0.8)
    assert found.chance == ((0.8, 0.2, 0.0), (0.1, 0.8, 0.1), (0.0, 0.2, 0.8))


def test_shapes_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="prior"):
        Problem(("a", "b"), (0.5, 0.6), (Action("x", 0, (0, 0)),))
    with pytest.raises(ValueError, match="harm"):
        Problem(("a", "b"), (0.5, 0.5), (Action("x", 0, (0,)),))
    with pytest.raises(ValueError, match="chance"):
        study(KEEP_OR_FELL, Diagnosis("x", 1, ("r",), ((1.0,),)))
    with pytest.raises(ValueError, match="chance"):
        Diagnosis("x", 1, ("r", "s"), ((0.5, 0.6),))
    with pytest.raises(ValueError, match="error_sd"):
        normal_instrument("x", 1, (1.0,), 0.0, (1.0,))
    with pytest.raises(ValueError, match="hit"):
        word_instrument("x", 1, ("a",), 0.0)


REQUEST: dict[str, object] = {
    "states": [{"name": "sound", "prior": 0.7}, {"name": "hollow", "prior": 0.3}],
    "actions": [{"name": "fell", "cost": 2000, "harm": [0, 0]}, {"name": "keep", "cost": 0, "harm": [0, 0.004]}],
    "diagnosis": {"name": "open", "cost": 300, "readings": [
        {"name": "sound", "chance_by_state": [1, 0]}, {"name": "hollow", "chance_by_state": [0, 1]}]},
    "money_per_harm": 1e7,
}  # fmt: skip


def test_the_request_gives_what_the_method_gives() -> None:
    answer = compute(REQUEST)
    assert answer["verdict"] == "worthwhile"
    assert answer["values"][1]["net"] == pytest.approx(0.7 * 2000 - 300)
    assert [(row["reading"], row["action"]) for row in answer["plan"] if row["money_per_harm"] == 1e7] == [
        ("sound", "keep"), ("hollow", "fell"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"states": [{"name": "a", "prior": 0.5}, {"name": "b", "prior": 0.4}]}, "/states"),
        ({"actions": [{"name": "a", "cost": 1, "harm": [0]}]}, "/actions/0/harm"),
        ({"diagnosis": {"name": "x", "cost": 1}}, "/diagnosis/values"),
        ({"diagnosis": {"name": "x", "cost": 1, "values": [1, 2], "error_sd": 1, "edges": [2, 1]}}, "/diagnosis/edges"),
        (
            {"diagnosis": {"name": "x", "cost": 1, "readings": [{"name": "r", "chance_by_state": [1, 0.5]}]}},
            "/diagnosis/readings",
        ),
        (
            {"diagnosis": {"name": "x", "cost": 1, "readings": [], "values": [1, 2]}},
            "/diagnosis/values",
        ),
        ({"money_per_harm": 0}, "/money_per_harm"),
        ({"diagnosis": None}, "/diagnosis"),
    ],
)
def test_a_wrong_field_is_named(change: dict[str, object], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(REQUEST | change)
    assert caught.value.fields[0].pointer == pointer
