"""Conflicts of a program: found exactly where there is no plan, and no member can be left out."""

from dataclasses import replace

import numpy as np

from assessments.methods.program import Limits, Program, Zones
from assessments.methods.program.conflict import Conflict, explain
from assessments.methods.program.problem import build
from tests.support import programs


def _only(program: Program, conflict: Conflict, without: tuple[str, int] | None = None) -> Program:
    """The program with only the limits and must-trees of a conflict, less one member."""
    limits = {}
    for kind in ("money", "hours", "least"):
        inside = {need.row for need in conflict.needs if need.kind == kind and (kind, need.row) != without}
        values = getattr(program.limits, kind)
        open_to = 0.0 if kind == "least" else 1e6
        limits[kind] = np.array([value if row in inside else open_to for row, value in enumerate(values)])
    must = np.zeros(program.trees, bool)
    for group in conflict.groups:
        if ("group", group.number) != without:
            must[group.trees] = True
    return replace(program, must=must, limits=replace(program.limits, **limits))


def _possible(program: Program) -> bool:
    return programs.best_of_all(program) is not None


def test_a_conflict_is_told_where_no_plan_is_possible_and_only_there() -> None:
    found = 0
    for seed in range(30):
        program, groups = programs.crowded(seed)
        small = program.part(np.array([0, 1, 3, 4, 6, 7]))
        conflict = explain(small, groups[[0, 1, 3, 4, 6, 7]])
        assert (conflict is None) == _possible(small), seed
        found += conflict is not None
    assert 5 < found < 30


def test_no_member_of_a_conflict_can_be_left_out() -> None:
    checked = 0
    for seed in range(30):
        program, groups = programs.crowded(seed)
        kept = np.array([0, 1, 3, 4, 6, 7])
        small = program.part(kept)
        conflict = explain(small, groups[kept])
        if conflict is None:
            continue
        assert conflict.proven
        assert not _possible(_only(small, conflict))
        members = [(need.kind, need.row) for need in conflict.needs]
        members += [("group", group.number) for group in conflict.groups]
        for member in members:
            assert _possible(_only(small, conflict, member)), (seed, member)
            checked += 1
    assert checked > 10


def _removals() -> Program:
    """18 removals of 412 crew hours together, all due in the first quarter, which has 360; money is plenty."""
    hours = np.r_[np.full(17, 23.0), 21.0, 5.0]
    rows = {
        "tree": np.arange(19),
        "quarter": np.r_[np.zeros(18), 1],
        "benefit": np.ones(19),
        "cost": np.full(19, 100.0),
        "budget": np.zeros(19),
        "hours": hours,
        "crew": np.r_[np.zeros(18), 1],
    }
    zones = Zones(np.zeros(19, np.int64), np.zeros((1, 2)), np.array([0, 0]))
    limits = Limits(np.array([1e5]), np.array([360.0, 360.0]), np.full(19, -1))
    return build(rows, np.ones(19, bool), zones, limits, 2)[0]


def test_removals_that_need_more_hours_than_their_quarter_has_are_told_with_both_figures() -> None:
    conflict = explain(_removals(), np.r_[np.full(18, 7), 8])
    assert conflict is not None
    assert [(need.kind, need.row, need.needed, need.available) for need in conflict.needs] == [("hours", 0, 412, 360)]
    assert [(group.number, group.count) for group in conflict.groups] == [(7, 18)]


def test_a_must_tree_without_work_is_the_conflict() -> None:
    program = _removals()
    bare = replace(program, columns=program.columns.chosen(program.columns.tree != 4))
    conflict = explain(bare, np.zeros(19, np.int64))
    assert conflict is not None
    assert (conflict.without_work.tolist(), conflict.needs) == ([4], ())


def test_a_minimum_above_what_a_district_can_spend_is_told() -> None:
    program = programs.random(2, trees=6)
    limits = replace(program.limits, least=np.array([0.0, 1e4]))
    conflict = explain(replace(program, limits=limits), np.zeros(6, np.int64))
    assert conflict is not None
    assert [(need.kind, need.row, need.needed) for need in conflict.needs] == [("least", 1, 1e4)]
    assert conflict.needs[0].available < 1e4
    assert conflict.groups == ()
