"""How far a plan rests on the map: draws, other maps, inversions against class order."""

import numpy as np
import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.program import draws, solve
from tests.support import programs


def test_draws_that_only_change_the_scale_choose_the_same_trees() -> None:
    program = programs.random(4, trees=200, works=1, quarters=1)
    plan = solve(program)
    same = draws.steadiness(program, plan, [program.columns.benefit * factor for factor in (0.1, 1.0, 10.0)])
    assert same.draws == 3
    assert same.steady > 0.95


def test_draws_without_any_order_leave_little_steady() -> None:
    program = programs.random(4, trees=200, works=1, quarters=1, money=0.3)
    plan, chance = solve(program), np.random.default_rng(1)
    size = len(program.columns)
    wild = draws.steadiness(program, plan, (chance.lognormal(3, 2, size) for _ in range(40)))
    same = draws.steadiness(program, plan, (program.columns.benefit for _ in range(5)))
    assert wild.steady < same.steady / 2
    assert wild.chosen.min() >= 0
    assert wild.chosen.max() <= 1


def test_a_plan_is_scored_under_each_map() -> None:
    program = programs.random(4)
    plan = solve(program)
    central = program.columns.benefit
    found = draws.scores(program, plan.picked, {"low": central / 10, "central": central, "high": central * 10})
    assert found["central"] == pytest.approx(plan.benefit)
    assert found["high"] == pytest.approx(100 * found["low"])
    with pytest.raises(MethodProblem) as problem:
        draws.scores(program, plan.picked, {"low": central[:1]})
    assert problem.value.fields[0].pointer == "/maps/low"


def test_each_inversion_against_class_order_is_listed() -> None:
    for seed in range(20):
        program = programs.random(seed, trees=8)
        chance = np.random.default_rng(seed)
        risk_class, harm = chance.integers(1, 5, 8), chance.uniform(0, 1, 8)
        picked = solve(program).picked
        chosen = set(program.columns.tree[picked].tolist())
        found = draws.inversions(program, picked, risk_class, harm)
        expected = {}
        for tree in chosen:
            over = [other for other in set(range(8)) - chosen if risk_class[other] > risk_class[tree]]
            if over:
                expected[tree] = (len(over), max(over, key=lambda other: harm[other]))
        told = zip(found.tree.tolist(), found.passed_over.tolist(), found.example.tolist(), strict=True)
        assert {tree: (count, example) for tree, count, example in told} == expected
