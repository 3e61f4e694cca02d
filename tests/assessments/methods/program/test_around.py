"""Around a plan: the curve, one more unit, why not this tree, locks, comparison."""

from dataclasses import replace

import numpy as np
import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.program import Effort, Program, around, solve
from assessments.methods.program.prices import reply
from tests.support import programs

EXACT = Effort(gap=0.0, looks=100_000, nodes=100_000)
NONE = np.zeros(0, np.int64)


@pytest.fixture
def program() -> Program:
    return programs.random(5, trees=16, works=2, quarters=2, opening=2.0, must=2, money=0.6)


def test_the_curve_has_at_least_eight_points_and_never_falls(program: Program) -> None:
    points = around.curve(program, effort=Effort(core_columns=10, rounds=1))
    kept = [point for point in points if point.plan.feasible]
    assert len(points) >= 8
    assert len(kept) >= 6
    benefits = [point.plan.benefit for point in kept]
    assert benefits == sorted(benefits)
    assert benefits[-1] > benefits[0]
    for point in kept:
        assert around.with_money(program, program.limits.money * point.share).keeps(point.plan.picked)


def test_one_more_unit_is_told_by_price_and_by_planning_again(program: Program) -> None:
    plan = solve(program, EXACT)
    for kind, rows in (("money", 2), ("hours", 2)):
        for row in range(rows):
            more = around.one_more(program, plan, kind, row, 5.0, EXACT)
            assert 0 <= more.found <= more.most + 1e-9
            # The price is the dual's: together with the gap of the dual it is above what is found.
            assert more.by_price >= 0
    with pytest.raises(MethodProblem):
        around.one_more(program, plan, "least", 0, 1.0)


def test_a_tree_that_is_left_out_stays_out_until_it_gains_what_why_asks_for() -> None:
    program = programs.random(8, trees=40, works=1, quarters=1, money=0.5)
    plan = solve(program, EXACT)
    chosen = set(program.columns.tree[plan.picked].tolist())
    # Down to what the dual leaves open: forced in, the bound falls by the loss.
    slack = reply(program, plan.prices).bound - plan.benefit
    asked = 0
    for tree in set(range(40)) - chosen:
        nearest = around.why(program, plan, tree)[0]
        short = nearest.benefit_needed - float(program.columns.benefit[nearest.column])
        assert short == pytest.approx(nearest.loss)
        if short <= slack + 0.1:
            continue
        benefit = program.columns.benefit.copy()
        benefit[nearest.column] += short - slack - 0.1
        assert tree not in _chosen(_with_benefit(program, benefit))
        benefit[nearest.column] += 1_000
        assert tree in _chosen(_with_benefit(program, benefit))
        asked += 1
    assert asked > 3


def test_the_cost_and_the_price_that_would_do_bring_the_loss_to_nothing() -> None:
    program = programs.random(8, trees=40, works=1, quarters=1, money=0.5)
    plan = solve(program, EXACT)
    told = 0
    for tree in range(40):
        for each in around.why(program, plan, tree):
            if each.cost_needed is None or each.price_needed is None:
                continue
            price, cost = float(plan.prices.money[0]), float(program.columns.cost[each.column])
            assert (cost - each.cost_needed) * price == pytest.approx(each.loss)
            assert (price - each.price_needed) * cost == pytest.approx(each.loss)
            told += 1
    assert told > 10


def _with_benefit(program: Program, benefit: np.ndarray) -> Program:
    return replace(program, columns=replace(program.columns, benefit=benefit))


def _chosen(program: Program) -> list[int]:
    return program.columns.tree[solve(program, EXACT).picked].tolist()


def test_locking_never_helps_and_keeps_what_is_locked(program: Program) -> None:
    plan = solve(program, EXACT)
    columns = program.columns
    for tree in range(2, 16):
        barred = around.solve_locked(program, NONE, np.array([tree]), EXACT, plan=plan)
        assert tree not in columns.tree[barred.picked]
        assert program.keeps(barred.picked)
        assert barred.benefit <= plan.benefit + 1e-6
        column = int(np.flatnonzero(columns.tree == tree)[0])
        kept = around.solve_locked(program, np.array([column]), NONE, EXACT, plan=plan)
        if kept.feasible:
            assert column in kept.picked
            assert kept.benefit <= plan.benefit + 1e-6


@pytest.mark.parametrize(
    ("kept", "barred", "pointer"),
    [([0, 1], [], "/kept"), ([], [0], "/barred"), ([-1], [], "/kept"), ([], [99], "/barred"), ([20], [5], "/barred")],
)
def test_locks_that_contradict_are_refused(program: Program, kept: list[int], barred: list[int], pointer: str) -> None:
    with pytest.raises(MethodProblem) as problem:
        around.lock(program, np.array(kept, np.int64), np.array(barred, np.int64))
    assert problem.value.fields[0].pointer == pointer


def test_two_plans_are_compared_tree_by_tree(program: Program) -> None:
    plan = solve(program, EXACT)
    tree = int(next(tree for tree in program.columns.tree[plan.picked] if not program.must[tree]))
    other = around.solve_locked(program, NONE, np.array([tree]), EXACT)
    difference = around.compare(program, plan, other)
    assert tree in difference.dropped
    assert difference.benefit == pytest.approx(other.benefit - plan.benefit)
    back = around.compare(program, other, plan)
    assert back.added.tolist() == difference.dropped.tolist()
    assert back.money == pytest.approx(-difference.money)
