"""The yearly program against every plan there is, and the laws of what a limit can do."""

from dataclasses import replace

import numpy as np
import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.program import Effort, Program, solve
from assessments.methods.program.prices import Prices, descend, reply
from tests.support import programs

EXACT = Effort(gap=0.0, looks=100_000, nodes=100_000)
KINDS = [
    {},
    {"opening": 3.0},
    {"must": 2},
    {"least": 4.0},
    {"opening": 2.0, "must": 1, "least": 3.0},
    {"money": 0.25},
]


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_the_plan_is_the_best_of_all_plans(kind: dict[str, float]) -> None:
    for seed in range(50):
        program = programs.random(seed, **kind)  # type: ignore[arg-type]
        best, plan = programs.best_of_all(program), solve(program, EXACT)
        assert plan.feasible == (best is not None), seed
        if best is not None:
            assert program.keeps(plan.picked)
            assert plan.benefit == pytest.approx(best)
            assert plan.bound >= best - 1e-6
            assert plan.gap < 1e-6


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_prices_prove_a_bound_that_no_plan_passes(kind: dict[str, float]) -> None:
    for seed in range(20):
        program = programs.random(seed, **kind)  # type: ignore[arg-type]
        best = programs.best_of_all(program)
        if best is None:
            continue
        first = reply(program, Prices.none(program))
        _, last = descend(program, Prices.none(program), 0.0, 60)
        some = Prices.of(np.random.default_rng(seed).uniform(0, 10, len(first.slack)), program)
        assert min(first.bound, last.bound, reply(program, some).bound) >= best - 1e-6
        assert last.bound <= first.bound + 1e-9


def test_more_money_never_buys_less() -> None:
    for seed in range(10):
        program = programs.random(seed, trees=8, works=2, quarters=2, opening=2.0)
        plans = [solve(_with_money(program, share), EXACT).benefit for share in (0.5, 0.75, 1.0, 1.5)]
        assert plans == sorted(plans)


def _with_money(program: Program, share: float) -> Program:
    return replace(program, limits=replace(program.limits, money=program.limits.money * share))


def test_the_same_program_gives_the_same_plan() -> None:
    program = programs.random(7, trees=40, works=3, quarters=3, opening=2.0)
    effort = Effort(core_columns=20, looks=20)
    first, again = solve(program, effort), solve(program, effort)
    assert first.picked.tolist() == again.picked.tolist()
    assert first.bound == again.bound


def test_each_bound_holds_for_the_plan_that_another_effort_finds() -> None:
    for seed in range(3):
        program = programs.random(seed, trees=60, works=3, quarters=2)
        whole = solve(program, Effort(looks=20))
        part = solve(program, Effort(core_columns=20, gap=1e-3, looks=20))
        assert part.benefit <= whole.bound + 1e-6
        assert whole.benefit <= part.bound + 1e-6
        assert program.keeps(part.picked)


def test_a_plan_to_begin_from_is_never_made_worse() -> None:
    program = programs.random(3, trees=60, works=3, quarters=2)
    start = solve(program, Effort(looks=20))
    assert solve(program, Effort(core_columns=2, rounds=1), start=start.picked).benefit >= start.benefit


def test_a_tree_that_must_be_worked_on_and_has_no_work_leaves_no_plan() -> None:
    program = programs.random(1)
    kept = program.columns.chosen(program.columns.tree != 0)
    must = np.zeros(program.trees, bool)
    must[0] = True
    plan = solve(replace(program, columns=kept, must=must))
    assert (plan.feasible, plan.proven_infeasible) == (False, True)
    assert plan.notes


@pytest.mark.parametrize(
    ("name", "value", "pointer"),
    [("benefit", np.nan, "/columns/benefit"), ("cost", -1.0, "/columns/cost"), ("hours", np.inf, "/columns/hours")],
)
def test_figures_that_are_none_are_named(name: str, value: float, pointer: str) -> None:
    program = programs.random(1)
    wrong = getattr(program.columns, name).copy()
    wrong[0] = value
    with pytest.raises(MethodProblem) as problem:
        replace(program, columns=replace(program.columns, **{name: wrong}))
    assert problem.value.fields[0].pointer == pointer
