"""Priority and dates, case by case."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from assessments.methods.due import day_number
from assessments.methods.priority import NULL_DATE, RATING, RESULT, RULES, TREE, Rows, add_months, prioritise
from tests.assessments.methods.strategies import NOTHING, POLICY, city_rows, one, rating_rows, tree_rows
from tests.support.work import calls_made


def day(text: str) -> int:
    return day_number(date.fromisoformat(text))


def rated(failure: int, impact: int, consequences: int, occupancy: int = 3) -> dict[str, Any]:
    return {
        "failure": failure,
        "impact": impact,
        "consequences": consequences,
        "frame_years": 3,
        "people": 1,
        "occupancy": occupancy,
    }


LOW, MODERATE, HIGH, EXTREME = rated(1, 1, 1), rated(2, 4, 4), rated(3, 4, 4), rated(4, 4, 4)
SEEN = {**NOTHING, "last_seen": day("2026-01-31"), "last_rated": day("2026-01-31")}


def dates(row: np.void, *names: str) -> list[str | None]:
    found = [int(row[name]) for name in names]
    return [None if n == NULL_DATE else date.fromordinal(n + date(1970, 1, 1).toordinal()).isoformat() for n in found]


@pytest.mark.parametrize(
    ("rating", "risk", "due"),
    [(LOW, 1, "2030-01-31"), (MODERATE, 2, "2027-07-31"), (HIGH, 3, "2026-07-31"), (EXTREME, 4, None)],
)
def test_the_interval_goes_by_risk_and_a_frequent_target(rating: dict[str, Any], risk: int, due: str) -> None:
    row = one(SEEN, [rating])
    assert row["risk"] == risk
    assert dates(row, "by_interval", "inspect_by") == [due, due]
    assert RULES[row["rule"]] == ("interval" if due else "none")


def test_the_busiest_of_site_and_targets_sets_the_interval() -> None:
    assert dates(one(SEEN, [{**MODERATE, "occupancy": 4}]), "by_interval") == ["2027-01-31"]
    assert dates(one({**SEEN, "occupancy": 4}, [{**MODERATE, "occupancy": 1}]), "by_interval") == ["2027-01-31"]


def test_a_tree_seen_but_never_rated_has_its_own_interval_and_is_not_low() -> None:
    row = one({**SEEN, "last_rated": NULL_DATE}, [])
    assert (row["risk"], row["harm"]) == (0, 0)
    assert dates(row, "inspect_by") == ["2028-01-31"]


def test_a_tree_never_seen_has_no_date_and_waits_in_the_queue() -> None:
    row = one(NOTHING, [])
    assert dates(row, "act_by", "inspect_by") == [None, None]
    assert RULES[row["rule"]] == "none"
    assert row["unseen_weight"] == 40 * POLICY.occupancy_weight[3]


def test_an_unknown_diameter_weighs_as_the_policy_says() -> None:
    row = one({**NOTHING, "dbh_cm": float("nan"), "occupancy": 4}, [])
    assert row["unseen_weight"] == POLICY.unknown_dbh_cm * POLICY.occupancy_weight[4]


def test_a_look_in_passing_does_not_renew_the_interval_of_a_rating() -> None:
    assert dates(one({**SEEN, "last_seen": day("2026-06-01")}, [HIGH]), "by_interval") == ["2026-07-31"]


def test_high_and_extreme_risk_are_acted_on_within_the_days_of_the_policy() -> None:
    assert dates(one(SEEN, [HIGH]), "act_by") == ["2026-03-02"]
    assert dates(one(SEEN, [EXTREME]), "act_by") == ["2026-02-01"]
    assert dates(one(SEEN, [MODERATE]), "act_by") == [None]


def test_an_earlier_decision_brings_the_act_date_forward_and_a_later_one_does_not_put_it_off() -> None:
    assert dates(one({**SEEN, "act_due": day("2026-02-10")}, [HIGH]), "act_by") == ["2026-02-10"]
    assert dates(one({**SEEN, "act_due": day("2026-12-01")}, [HIGH]), "act_by") == ["2026-03-02"]
    assert dates(one({**SEEN, "act_due": day("2026-12-01")}, [LOW]), "act_by") == ["2026-12-01"]


def test_an_accepted_risk_is_acted_on_when_the_acceptance_ends_or_as_decided_before() -> None:
    accepted = {**SEEN, "accepted_until": day("2026-12-01")}
    assert dates(one(accepted, [HIGH]), "act_by") == ["2026-12-01"]
    assert dates(one({**accepted, "act_due": day("2026-10-01")}, [HIGH]), "act_by") == ["2026-10-01"]
    assert dates(one({**SEEN, "accepted_until": day("2026-02-01")}, [HIGH]), "act_by") == ["2026-03-02"]


def test_a_sign_of_decay_halves_the_interval() -> None:
    row = one({**SEEN, "decay_sign": 1}, [HIGH])
    # 181 days from 31 January to 31 July; half of them, rounded down, is 90.
    assert dates(row, "by_interval", "by_decay", "inspect_by") == ["2026-07-31", "2026-05-01", "2026-05-01"]
    assert RULES[row["rule"]] == "decay"


def test_halving_can_be_switched_off() -> None:
    row = one({**SEEN, "decay_sign": 1}, [HIGH], replace(POLICY, decay_halves_interval=False))
    assert dates(row, "by_decay") == [None]


@pytest.mark.parametrize(
    ("seen", "due"),
    [
        (None, "2025-07-15"),
        ("2025-04-15", "2025-07-15"),
        ("2025-07-14", "2025-07-15"),
        ("2025-07-15", "2025-10-15"),
        ("2026-12-01", "2027-04-15"),
        ("2028-04-15", None),
    ],
)
def test_the_next_visit_of_a_young_tree_is_the_first_after_it_was_seen(seen: str | None, due: str) -> None:
    tree = {**NOTHING, "planted": day("2025-04-15"), "last_seen": day(seen) if seen else NULL_DATE}
    assert dates(one(tree, []), "by_establishment") == [due]


def test_trees_planted_before_the_programme_began_are_due_no_visit() -> None:
    assert dates(one({**NOTHING, "planted": day("2023-12-31")}, []), "by_establishment") == [None]
    always = replace(POLICY, establishment_planted_from=None)
    assert dates(one({**NOTHING, "planted": day("2023-12-31")}, [], always), "by_establishment") == ["2024-03-31"]


def test_an_open_check_wins_when_it_is_the_earliest_and_on_the_same_day() -> None:
    for check in ("2026-04-01", "2026-07-31"):
        row = one({**SEEN, "check_due": day(check)}, [HIGH])
        assert dates(row, "inspect_by") == [check]
        assert RULES[row["rule"]] == "check"
    later = one({**SEEN, "check_due": day("2026-08-01")}, [HIGH])
    assert dates(later, "inspect_by", "by_check") == ["2026-07-31", "2026-08-01"]


def test_the_worst_rating_counts_for_the_class_and_all_of_them_for_the_harm() -> None:
    both, worst = one(SEEN, [HIGH, MODERATE]), one(SEEN, [HIGH])
    assert both["risk"] == worst["risk"] == 3
    assert both["harm"] > worst["harm"]


def test_a_rating_with_an_unknown_word_counts_as_no_rating() -> None:
    row = one({**SEEN, "last_rated": NULL_DATE}, [{**HIGH, "impact": 0}])
    assert (row["risk"], row["harm"]) == (0, 0)


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        ("2024-01-31", 1, "2024-02-29"),
        ("2026-01-31", 1, "2026-02-28"),
        ("2026-12-15", 1, "2027-01-15"),
        ("2024-02-29", 12, "2025-02-28"),
        ("1968-05-31", 6, "1968-11-30"),
        ("2026-03-01", 0, "2026-03-01"),
    ],
)
def test_months_are_calendar_months(start: str, months: int, end: str) -> None:
    assert int(add_months(day(start), months)) == day(end)


def test_no_trees_give_no_rows() -> None:
    assert prioritise(np.empty(0, TREE), np.empty(0, RATING), POLICY).shape == (0,)


def test_a_rating_of_a_tree_that_is_not_given_is_refused() -> None:
    for trees, ratings in (
        (tree_rows([SEEN]), rating_rows([HIGH], tree_id=2)),
        (tree_rows([SEEN, SEEN], [1, 3]), rating_rows([HIGH], tree_id=2)),
        (tree_rows([SEEN, SEEN], [1, 10**12]), rating_rows([HIGH], tree_id=2)),
        (np.empty(0, TREE), rating_rows([HIGH])),
    ):
        with pytest.raises(ValueError, match="not given"):
            prioritise(trees, ratings, POLICY)


@pytest.mark.parametrize("ids", [[5, 5], [5, 5, 10**12]])
def test_a_tree_given_twice_is_refused(ids: list[int]) -> None:
    with pytest.raises(ValueError, match="twice"):
        prioritise(tree_rows([SEEN] * len(ids), ids), np.empty(0, RATING), POLICY)


@pytest.mark.parametrize("wrong", [{"failure": 5}, {"frame_years": 0}, {"frame_years": 6}])
def test_a_rating_out_of_range_is_refused_by_name(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong))):
        one(SEEN, [{**HIGH, **wrong}])


def test_ids_far_apart_are_found_too() -> None:
    city = [(SEEN, [HIGH]), (SEEN, [LOW]), (SEEN, [EXTREME])]
    trees, ratings = city_rows(city, [10**12, 3, 500_000])
    assert prioritise(trees, ratings, POLICY)["risk"].tolist() == [3, 1, 4]


def test_a_hundred_thousand_trees_take_no_more_calls_than_a_hundred() -> None:
    # How long they take is the benchmark's to tell (`deploy.bench recompute`): a million take under 0.5 s.
    few, many = (_city_of(count) for count in (100, 100_000))
    assert calls_made(lambda: prioritise(*few, POLICY)) == calls_made(lambda: prioritise(*many, POLICY))
    assert np.all(prioritise(*many, POLICY)["risk"] == 2)


def _city_of(count: int) -> tuple[Rows, Rows]:
    trees = np.repeat(tree_rows([SEEN]), count)
    trees["tree_id"] = np.arange(count)
    ratings = np.repeat(rating_rows([MODERATE]), count)
    ratings["tree_id"] = np.arange(count)
    return trees, ratings


def test_the_rows_are_packed_for_binary_copy() -> None:
    assert (TREE.itemsize, RATING.itemsize, RESULT.itemsize) == (42, 14, 46)
    assert NULL_DATE == -(2**31)
