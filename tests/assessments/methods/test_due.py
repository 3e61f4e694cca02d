"""What is worked out on reading: order, days overdue, queue and reasons, with today as an argument."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods import due
from assessments.methods.priority import NULL_DATE, RESULT, prioritise
from tests.assessments.methods.strategies import CITY, NOTHING, POLICY, city_rows, one, tree_rows

TODAY = date(2026, 11, 25)
City = list[tuple[dict[str, Any], list[dict[str, Any]]]]
RATED = {"failure": 3, "impact": 4, "consequences": 4, "frame_years": 1, "people": 1, "occupancy": 3}


def day(text: str) -> int:
    return due.day_number(date.fromisoformat(text))


def result(**changes: Any) -> np.void:
    row = np.zeros(1, RESULT)
    for name in ("act_by", "inspect_by", "by_interval", "by_decay", "by_establishment", "by_check"):
        row[name] = NULL_DATE
    for name, value in changes.items():
        row[name] = value
    first: np.void = row[0]
    return first


@given(CITY)
def test_the_order_of_a_city_is_the_order_of_its_keys(city: City) -> None:
    trees, ratings = city_rows(city, list(range(1, len(city) + 1)))
    rows = prioritise(trees, ratings, POLICY)
    keys = [due.sort_key(row, TODAY) for row in rows[due.order(rows, TODAY)]]
    assert keys == sorted(keys)


@given(CITY)
def test_a_lower_class_never_outranks_a_higher_one(city: City) -> None:
    trees, ratings = city_rows(city, list(range(1, len(city) + 1)))
    rows = prioritise(trees, ratings, POLICY)
    assert np.all(np.diff(rows["risk"][due.order(rows, TODAY)].astype(int)) <= 0)


def test_inside_a_band_half_decades_come_first_then_days_overdue_then_harm() -> None:
    late, later = day("2026-11-01"), day("2026-10-01")
    rows = np.array(
        [
            result(tree_id=1, risk=3, harm=1.0e-5, inspect_by=late),
            result(tree_id=2, risk=3, harm=1.1e-5, inspect_by=late),
            result(tree_id=3, risk=3, harm=0.9e-5, inspect_by=later),
            result(tree_id=4, risk=3, harm=1.0e-4),
            result(tree_id=5, risk=2, harm=1.0, inspect_by=later),
            result(tree_id=6, risk=3, harm=1.1e-5),
        ],
        RESULT,
    )
    assert rows["tree_id"][due.order(rows, TODAY)].tolist() == [4, 3, 2, 1, 6, 5]


@pytest.mark.parametrize(("harm", "half_decade"), [(1.0, 0), (3.2, 1), (1e-5, -10), (1.7e-5, -10), (1.8e-5, -9)])
def test_harm_is_rounded_to_the_nearest_half_decade(harm: float, half_decade: int) -> None:
    assert int(due.half_decades(harm)) == half_decade


def test_no_harm_comes_after_the_least_harm() -> None:
    assert due.half_decades(0.0) < due.half_decades(1e-30)


def test_the_earlier_of_both_dates_counts_for_being_overdue() -> None:
    act, inspect = [day("2026-11-20"), NULL_DATE, NULL_DATE], [day("2026-11-24"), day("2026-12-01"), NULL_DATE]
    assert due.days_overdue(act, inspect, TODAY).tolist() == [5, -6, NULL_DATE]


@given(st.integers(1, 4), st.integers(15_000, 21_000), st.integers(1, 500))
def test_waiting_never_moves_a_tree_down_among_its_like(risk: int, inspect_by: int, days: int) -> None:
    row = result(tree_id=1, risk=risk, harm=1e-6, inspect_by=inspect_by)
    assert due.sort_key(row, TODAY + timedelta(days)) < due.sort_key(row, TODAY)


def test_the_unseen_are_those_never_rated_or_past_their_date() -> None:
    risk = [0, 1, 1, 1]
    dates = [NULL_DATE, NULL_DATE, day("2026-11-24"), day("2026-11-25")]
    assert due.unseen(risk, dates, TODAY).tolist() == [True, False, True, False]


def test_the_queue_goes_by_weight_and_days_unseen() -> None:
    seen = [day("2026-11-15"), NULL_DATE, NULL_DATE, NULL_DATE, day("2027-01-01")]
    planted = [NULL_DATE, NULL_DATE, day("2026-11-20"), day("1950-01-01"), NULL_DATE]
    places = due.queue_place([2.0] * 5, seen, planted, TODAY)
    assert places.tolist() == [20, 2 * due.NEVER_SEEN_DAYS, 10, 2 * due.NEVER_SEEN_DAYS, 0]


def reasons(tree: dict[str, Any], rated: list[dict[str, Any]]) -> list[str]:
    return due.reasons(one(tree, rated), tree_rows([tree])[0], POLICY, TODAY)


def test_a_tree_never_seen_is_told_not_to_be_low() -> None:
    said = reasons(NOTHING, [])
    assert "Never rated" in said[0]
    assert "not counted as low" in said[0]
    assert "No inspection date" in said[1]


def test_the_reasons_name_class_dates_rule_policy_and_delay() -> None:
    tree = {**NOTHING, "last_seen": day("2026-03-01"), "last_rated": day("2026-03-01")}
    said = reasons(tree, [RATED])
    assert said[0] == "The worst rating is high, made on 2026-03-01."
    assert "Act by 2026-03-31" in said[1]
    assert "within 30 days" in said[1]
    assert "239 days overdue" in said[1]
    assert "Inspect by 2026-09-01" in said[2]
    assert "6 months after the rating" in said[2]
    assert "policy 2026.1" in said[2]


def test_the_rule_that_won_comes_first_and_the_others_follow() -> None:
    tree = {
        **NOTHING,
        "planted": day("2026-10-01"),
        "last_seen": day("2026-11-01"),
        "check_due": day("2026-11-30"),
        "decay_sign": 1,
    }
    said = reasons(tree, [])[1:]
    assert said[0].startswith("Inspect by 2026-11-30: an open required check")
    assert len(said) == 4
    assert any("young tree planted on 2026-10-01" in sentence for sentence in said[1:])
    assert any("halves the interval" in sentence for sentence in said[1:])
    assert any("24 months after the last inspection on 2026-11-01" in sentence for sentence in said[1:])


def test_a_decided_mitigation_is_named_as_such() -> None:
    tree = {**NOTHING, "last_seen": day("2026-11-20"), "last_rated": day("2026-11-20"), "act_due": day("2026-11-24")}
    said = reasons(tree, [RATED])
    assert said[1] == "Act by 2026-11-24: a decided or required mitigation is due then. 1 day overdue."


def test_rows_from_the_database_with_dates_and_none_are_told_alike() -> None:
    tree = {**NOTHING, "last_seen": day("2026-03-01"), "last_rated": day("2026-03-01")}
    row = one(tree, [RATED])
    as_mapping = {name: None if row[name] == NULL_DATE else row[name] for name in RESULT.names or ()}
    as_dates = {**tree, "last_rated": date(2026, 3, 1), "act_due": None, "check_due": None}
    assert due.reasons(as_mapping, as_dates, POLICY, TODAY) == reasons(tree, [RATED])
    assert due.sort_key(as_mapping, TODAY) == due.sort_key(row, TODAY)


@given(CITY)
def test_every_tree_can_be_told_its_reasons(city: City) -> None:
    trees, ratings = city_rows(city, list(range(1, len(city) + 1)))
    for row, tree in zip(prioritise(trees, ratings, POLICY), trees, strict=True):
        said = due.reasons(row, tree, POLICY, TODAY)
        assert all(sentence.endswith(".") for sentence in said)
        assert len(said) >= 2
