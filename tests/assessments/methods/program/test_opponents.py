"""The simple planners keep every limit, do what must be done, and are never better than what is proven."""

import pytest

from assessments.methods.program import Effort, opponents, solve
from tests.support import programs


@pytest.mark.parametrize("opening", [0.0, 3.0])
def test_opponents_make_plans_that_no_proof_contradicts(opening: float) -> None:
    planned = 0
    for seed in range(15):
        program = programs.random(seed, trees=30, works=3, quarters=2, opening=opening, must=3, money=0.6)
        plan = solve(program, Effort(core_columns=60, rounds=1, looks=10))
        for picked in (opponents.worst_first(program, opponents.classes(program)), opponents.greedy(program)):
            if picked is None:
                continue
            assert program.keeps(picked)
            assert float(program.columns.benefit[picked].sum()) <= plan.bound + 1e-6
            planned += 1
    assert planned >= 20


def test_upgrades_make_the_greedy_better_than_worst_first_here() -> None:
    program = programs.random(3, trees=60, works=3, quarters=2)
    worst, greedy = opponents.worst_first(program, opponents.classes(program)), opponents.greedy(program)
    assert worst is not None
    assert greedy is not None
    assert program.columns.benefit[greedy].sum() > program.columns.benefit[worst].sum()
