"""The program against an independent solver, and the laws that hold whatever the numbers are."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.problems import MethodProblem
from assessments.methods.program import Effort, Program, StopEarly, solve
from assessments.methods.program.bundle import Slopes
from assessments.methods.program.prices import Prices, losses, reply
from tests.support import programs

EXACT = Effort(gap=0.0, looks=100_000, nodes=100_000)


def _by_cp_sat(program: Program) -> float | None:
    """The optimum by OR-Tools CP-SAT, the model written anew; benefits in tenths, all figures whole."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    model, columns, limits = cp_model.CpModel(), program.columns, program.limits
    picks = [model.new_bool_var(str(place)) for place in range(len(columns))]
    doors: dict[tuple[int, int], Any] = {}
    for place, pick in enumerate(picks):
        zone = int(program.zones.of_tree[columns.tree[place]])
        door = doors.setdefault((zone, int(columns.quarter[place])), model.new_bool_var(f"door {place}"))
        model.add_implication(pick, door)
    for tree in range(program.trees):
        own = [picks[place] for place in np.flatnonzero(columns.tree == tree)]
        (model.add_exactly_one if program.must[tree] else model.add_at_most_one)(own)
    for row, money in enumerate(limits.money):
        paid = [int(columns.cost[place]) * picks[place] for place in np.flatnonzero(columns.budget == row)]
        opened = [
            int(program.zones.cost[zone, quarter]) * door
            for (zone, quarter), door in doors.items()
            if program.zones.budget[quarter] == row
        ]
        model.add(sum(paid) + sum(opened) <= int(money))
    for row, hours in enumerate(limits.hours):
        worked = [int(columns.hours[place]) * picks[place] for place in np.flatnonzero(columns.crew == row)]
        model.add(sum(worked) <= int(hours))
    for row, least in enumerate(limits.least):
        inside = np.flatnonzero(limits.district[columns.tree] == row)
        model.add(sum(int(columns.cost[place]) * picks[place] for place in inside) >= int(least))
    model.maximize(sum(round(10 * float(columns.benefit[place])) * pick for place, pick in enumerate(picks)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value / 10 if status == cp_model.OPTIMAL else None


@pytest.mark.parametrize("seed", range(20))
def test_an_independent_solver_finds_the_same_optimum(seed: int) -> None:
    program = programs.random(
        seed, trees=14, works=2, quarters=2, opening=float(seed % 2) * 2, must=seed % 3, least=float(seed % 4) * 3
    )
    plan, optimum = solve(program, EXACT), _by_cp_sat(program)
    assert plan.feasible == (optimum is not None)
    if optimum is not None:
        assert plan.benefit == pytest.approx(optimum, abs=1e-6)


seeds = st.integers(0, 10_000)


@settings(max_examples=8, deadline=None)
@given(seeds, st.sampled_from(["money", "hours"]), st.floats(1.0, 3.0))
def test_more_of_a_limit_never_buys_less_than_the_gap(seed: int, kind: str, more: float) -> None:
    program = programs.random(seed, trees=8, opening=2.0)
    limits = replace(program.limits, **{kind: getattr(program.limits, kind) * more})
    before, after = solve(program), solve(replace(program, limits=limits))
    assert before.benefit <= after.bound + 1e-6


@settings(max_examples=8, deadline=None)
@given(seeds, st.sampled_from(["opening", "least", "must", "season"]))
def test_removing_a_constraint_never_hurts_within_the_gap(seed: int, what: str) -> None:
    program = programs.random(seed, trees=8, opening=2.0, must=1, least=2.0)
    zones, limits = program.zones, program.limits
    if what == "season":
        shut = program.columns.quarter == 1
        before, after = solve(replace(program, columns=program.columns.chosen(~shut))), solve(program)
    else:
        before = solve(program)
        freed: dict[str, dict[str, Any]] = {
            "opening": {"zones": replace(zones, cost=zones.cost * 0)},
            "least": {"limits": replace(limits, least=limits.least * 0)},
            "must": {"must": program.must & False},
        }
        after = solve(replace(program, **freed[what]))
    if before.feasible:
        assert after.feasible
        assert before.benefit <= after.bound + 1e-6


@settings(max_examples=30, deadline=None)
@given(seeds)
def test_no_slope_lies_above_the_bound_at_other_prices(seed: int) -> None:
    program = programs.random(seed, trees=12, opening=3.0, must=1, least=4.0)
    program = replace(program, limits=replace(program.limits, least_share=np.array([0.3, 0.2])))
    chance, slopes = np.random.default_rng(seed), Slopes(program)
    size = len(Prices.none(program).all)
    for _ in range(3):
        at = Prices.of(chance.uniform(0, 5, size), program)
        slopes.add(at, reply(program, at))
    other = chance.uniform(0, 5, size)
    height, prices = slopes.lowest(other, other)
    assert prices.all == pytest.approx(other)
    assert height <= reply(program, Prices.of(other, program)).bound + 1e-6
    # At the price of a slope itself it touches.
    height, _ = slopes.lowest(at.all, at.all)
    assert height == pytest.approx(reply(program, at).bound)


@settings(max_examples=15, deadline=None)
@given(seeds)
def test_a_forced_choice_lowers_the_bound_by_its_loss(seed: int) -> None:
    program = programs.random(seed, trees=6, opening=3.0)
    prices = Prices.of(np.random.default_rng(seed).uniform(0, 5, len(Prices.none(program).all)), program)
    answer = reply(program, prices)
    lost, alone = losses(program, prices, answer)
    place = seed % len(program.columns)
    tree = program.columns.tree[place]
    kept = program.columns.tree != tree
    without = replace(program, columns=program.columns.chosen(kept))
    assert reply(without, prices).bound == pytest.approx(answer.bound - alone[tree])
    kept[place] = True
    must = program.must.copy()
    must[tree] = True
    forced = replace(program, columns=program.columns.chosen(kept), must=must)
    assert reply(forced, prices).bound == pytest.approx(answer.bound - lost[place])


def test_a_stop_gives_the_plan_there_is_and_says_so() -> None:
    program = programs.random(3, trees=30)
    start = solve(program, Effort(core_columns=40, rounds=1, looks=5))

    def stop(done: int, total: int | None, what: str) -> None:
        raise StopEarly

    plan = solve(program, start=start.picked, progress=stop)
    assert plan.stopped
    assert "stopped early" in plan.notes[0]
    assert plan.benefit == start.benefit
    assert plan.bound >= start.benefit


def test_what_a_progress_call_raises_cancels_even_inside_the_solver() -> None:
    program = programs.random(3, trees=30, works=3)

    def cancel(done: int, total: int | None, what: str) -> None:
        if done == 1 and what == "choosing":
            raise TimeoutError("cancelled")

    with pytest.raises(TimeoutError, match="cancelled"):
        solve(program, Effort(gap=0.0, core_columns=200), progress=cancel)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"quarters": 0}, "/quarters"),
        ({"quarters": 7}, "/quarters"),
        ({"must": np.zeros(1, bool)}, "/columns/tree"),
    ],
)
def test_arrays_that_do_not_fit_are_named(change: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as problem:
        replace(programs.random(1), **change)
    assert problem.value.fields[0].pointer == pointer


@pytest.mark.parametrize(
    ("name", "value", "pointer"),
    [
        ("tree", -1, "/columns"),
        ("quarter", 9, "/columns"),
        ("budget", 9, "/columns/budget"),
        ("crew", -2, "/columns/crew"),
    ],
)
def test_numbers_outside_their_rows_are_named(name: str, value: int, pointer: str) -> None:
    program = programs.random(1)
    wrong = getattr(program.columns, name).copy()
    wrong[3] = value
    with pytest.raises(MethodProblem) as problem:
        replace(program, columns=replace(program.columns, **{name: wrong}))
    assert problem.value.fields[0].pointer.startswith(pointer)


def test_a_program_without_trees_or_without_columns_is_an_empty_plan() -> None:
    program = programs.random(1)
    empty = solve(program.part(np.zeros(0, np.int64)))
    bare = solve(replace(program, columns=program.columns.chosen(np.zeros(0, np.int64))))
    for plan in (empty, bare):
        assert (plan.feasible, plan.benefit, plan.gap, len(plan.picked)) == (True, 0.0, 0.0, 0)
