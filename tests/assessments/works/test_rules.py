"""The state of an item follows from its facts alone: whatever arrives late, twice or in another order."""

from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.works import rules, states
from assessments.works.records import ReportRecord
from assessments.works.rules import Judged, Reported, item_state
from tests.support.orders import said

START = datetime(2026, 5, 4, 8, tzinfo=UTC)


def at(hour: float) -> datetime:
    return START + timedelta(hours=hour)


def done(hour: float, *, disputed: bool = False) -> Reported:
    return Reported("done", at(hour), disputed)


def failed(hour: float) -> Reported:
    return Reported("not_possible", at(hour))


REPORTS = st.lists(
    st.builds(Reported, st.sampled_from(states.OUTCOMES), st.integers(0, 6).map(at), st.booleans()), max_size=6
)
VERDICTS = st.lists(st.builds(Judged, st.sampled_from(states.VERDICTS), st.integers(0, 6).map(at)), max_size=4)


@pytest.mark.parametrize(
    ("reports", "verdicts", "expected"),
    [
        ([], [], "open"),
        ([done(1)], [], "done"),
        ([failed(1)], [], "not_possible"),
        ([failed(1), done(2)], [], "done"),  # the crew came back
        ([done(1), failed(2)], [], "variation"),  # done, and then not possible: which?
        ([done(1), failed(1)], [], "variation"),
        ([done(1, disputed=True)], [], "variation"),
        ([done(1)], [Judged("accepted", at(2))], "verified"),
        ([done(1)], [Judged("returned", at(2))], "returned"),
        ([failed(1)], [Judged("not_done", at(2))], "not_done"),
        ([done(1), done(3)], [Judged("returned", at(2))], "done"),
        ([done(1), failed(3)], [Judged("returned", at(2))], "not_possible"),
        ([done(1), done(3)], [Judged("accepted", at(2))], "variation"),  # work after it was settled
        ([done(1), failed(0)], [Judged("accepted", at(2))], "verified"),  # an old "not possible" that came late
        ([done(1)], [Judged("returned", at(2)), Judged("accepted", at(3))], "verified"),
    ],
)
def test_the_last_verdict_settles_what_was_worked_before_it(
    reports: list[Reported], verdicts: list[Judged], expected: str
) -> None:
    assert item_state(reports, verdicts, cancelled=False) == expected


def test_a_cancelled_item_stays_so_until_someone_says_it_was_done_after_all() -> None:
    assert item_state([], [], cancelled=True) == "cancelled"
    assert item_state([failed(1)], [], cancelled=True) == "cancelled"
    assert item_state([done(1)], [], cancelled=True) == "variation"
    assert item_state([done(1, disputed=True)], [Judged("accepted", at(2))], cancelled=True) == "verified"


@given(REPORTS, VERDICTS, st.booleans(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter(
    reports: list[Reported], verdicts: list[Judged], cancelled: bool, chance: Random
) -> None:
    shuffled, judged = list(reports), list(verdicts)
    chance.shuffle(shuffled)
    chance.shuffle(judged)
    assert item_state(shuffled, judged, cancelled) == item_state(reports, verdicts, cancelled)


@given(REPORTS, VERDICTS, st.booleans())
def test_a_fact_that_arrives_twice_changes_nothing(
    reports: list[Reported], verdicts: list[Judged], cancelled: bool
) -> None:
    once = item_state(reports, verdicts, cancelled)
    assert item_state([*reports, *reports], [*verdicts, *verdicts], cancelled) == once
    assert once in states.ITEM_STATES


@given(REPORTS, VERDICTS, st.booleans(), st.sampled_from(states.OUTCOMES))
def test_work_before_a_verdict_that_arrives_after_it_changes_nothing(
    reports: list[Reported], verdicts: list[Judged], cancelled: bool, outcome: str
) -> None:
    verdicts = [*verdicts, Judged("returned", at(6))]
    late = Reported(outcome, at(6))
    assert item_state([*reports, late], verdicts, cancelled) == item_state(reports, verdicts, cancelled)


@given(REPORTS, VERDICTS)
def test_a_newer_accepting_verdict_always_settles(reports: list[Reported], verdicts: list[Judged]) -> None:
    assert item_state(reports, [*verdicts, Judged("accepted", at(7))], cancelled=False) == "verified"


@pytest.mark.parametrize("order_state", states.ORDER_STATES)
@pytest.mark.parametrize("step", states.ORDER_STEPS)
def test_a_step_is_refused_from_every_state_but_its_own(order_state: str, step: str) -> None:
    expected = {
        "issue": {"draft"},
        "accept": {"issued"},
        "cancel": {"draft", "issued", "accepted"},
        "close": {"issued", "accepted"},
        "reopen": {"closed"},
    }[step]
    assert (rules.step_problem(order_state, step) == "") is (order_state in expected)


def test_an_order_closes_with_its_last_item_and_reopens_for_a_late_report() -> None:
    assert rules.order_step("accepted", ["verified", "open"]) is None
    assert rules.order_step("accepted", ["verified", "not_done", "cancelled"]) == "close"
    assert rules.order_step("closed", ["verified", "variation"]) == "reopen"
    assert rules.order_step("cancelled", ["cancelled"]) is None
    assert rules.order_step("draft", []) is None


@pytest.mark.parametrize(
    ("action", "record", "pointers"),
    [
        ("remove", said("done", stump_ground=True), []),
        ("raise_crown", said("done", stump_ground=True), ["#/stump_ground"]),
        ("remove", said("not_possible", stump_ground=True), ["#/stump_ground"]),
        ("remove", said("not_possible", reason=" "), ["#/reason"]),
        ("remove", said("half_done"), ["#/outcome"]),
        ("install_support", said("done"), ["#/support_kind", "#/support_height_m"]),
        ("install_support", said("done", support_kind="cable", support_height_m=7), []),
        ("plant", said("done"), ["#/species"]),
        ("remove", said("done", hours=1), ["#/worked_at"]),
        ("remove", said("done", hours=0.1), []),  # a clock six minutes ahead
    ],
)
def test_a_report_is_checked_for_sense(action: str, record: ReportRecord, pointers: list[str]) -> None:
    now = said().worked_at
    assert [problem.pointer for problem in rules.report_problems(action, record, now)] == pointers


@pytest.mark.parametrize("action", states.ACTIONS)
def test_each_action_is_ordered_on_the_trees_it_fits(action: str) -> None:
    today = date(2026, 5, 4)
    fits = {
        state
        for state in ("alive", "dead", "stump", "removed")
        if not rules.wish_problems("#/items/0", action, state, today, today)
    }
    assert fits == {
        "grind_stump": {"stump"},
        "plant": {"stump", "removed"},
        "water": {"alive"},
        "young_tree_pruning": {"alive"},
    }.get(action, {"alive", "dead"})


def test_an_item_cannot_be_due_in_the_past() -> None:
    problems = rules.wish_problems("#/items/0", "remove", "alive", date(2026, 5, 3), date(2026, 5, 4))
    assert [problem.pointer for problem in problems] == ["#/items/0/due_on"]
