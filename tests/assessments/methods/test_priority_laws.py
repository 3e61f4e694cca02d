"""Laws of the priority that hold for any city."""

from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.priority import NULL_DATE, RESULT, RULES, add_months, prioritise
from tests.assessments.methods.strategies import (
    CITY,
    POLICY,
    RATING_ROW,
    TREE_AND_RATINGS,
    TREE_ROW,
    city_rows,
    one,
)

City = list[tuple[dict[str, Any], list[dict[str, Any]]]]
NEVER = 2**31
BY_RULE = [f"by_{name}" for name in RULES[1:]]


def or_never(day: Any) -> int:
    return NEVER if int(day) == NULL_DATE else int(day)


@given(TREE_AND_RATINGS, RATING_ROW)
def test_one_more_rating_never_lowers_risk_or_harm(
    tree: tuple[dict[str, Any], list[dict[str, Any]]], more: dict[str, Any]
) -> None:
    before, after = one(*tree), one(tree[0], [*tree[1], more])
    assert after["risk"] >= before["risk"]
    assert after["harm"] >= before["harm"]
    # An unknown occupancy weighs as frequent, so only a known one can but rise.
    if tree[0]["occupancy"]:
        assert after["unseen_weight"] >= before["unseen_weight"]


@given(TREE_AND_RATINGS, st.integers(15_000, 21_000))
def test_a_closer_check_never_postpones_the_inspection(
    tree: tuple[dict[str, Any], list[dict[str, Any]]], check: int
) -> None:
    facts, rated = tree
    closer = {**facts, "check_due": min(check, or_never(facts["check_due"]))}
    assert or_never(one(closer, rated)["inspect_by"]) <= or_never(one(facts, rated)["inspect_by"])


@given(TREE_AND_RATINGS)
def test_a_sign_of_decay_never_postpones_the_inspection_and_never_says_now(
    tree: tuple[dict[str, Any], list[dict[str, Any]]],
) -> None:
    facts, rated = tree
    sound, decayed = (one({**facts, "decay_sign": sign}, rated) for sign in (0, 1))
    assert or_never(decayed["inspect_by"]) <= or_never(sound["inspect_by"])
    assert decayed["by_decay"] == NULL_DATE or decayed["by_decay"] > min(facts["last_seen"], facts["last_rated"])


@given(CITY)
def test_the_inspection_date_is_the_earliest_of_the_rules_and_names_one_that_gives_it(city: City) -> None:
    trees, ratings = city_rows(city, list(range(1, len(city) + 1)))
    for row in prioritise(trees, ratings, POLICY):
        assert or_never(row["inspect_by"]) == min(or_never(row[name]) for name in BY_RULE)
        if row["rule"]:
            assert row[f"by_{RULES[row['rule']]}"] == row["inspect_by"]
        else:
            assert row["inspect_by"] == NULL_DATE


@given(CITY, st.randoms(use_true_random=False), st.sampled_from([1, 997, 10**9]))
def test_the_order_and_the_spacing_of_rows_do_not_matter(city: City, random: Any, spacing: int) -> None:
    ids = [1 + spacing * place for place in range(len(city))]
    trees, ratings = city_rows(city, ids)
    expected = prioritise(trees, ratings, POLICY)
    places = random.sample(range(len(trees)), len(trees))
    shuffled = prioritise(trees[places], ratings[random.sample(range(len(ratings)), len(ratings))], POLICY)
    for name in RESULT.names or ():
        if name == "harm":
            np.testing.assert_allclose(shuffled[name], expected[places][name], rtol=1e-6)
        else:
            np.testing.assert_array_equal(shuffled[name], expected[places][name])


@given(CITY)
def test_a_city_gives_what_each_tree_alone_gives(city: City) -> None:
    trees, ratings = city_rows(city, list(range(1, len(city) + 1)))
    for row, tree in zip(prioritise(trees, ratings, POLICY), city, strict=True):
        alone = one(*tree)
        assert row.tolist()[1:] == alone.tolist()[1:]


@given(TREE_ROW, RATING_ROW, st.sampled_from(["failure", "impact", "consequences"]), st.integers(1, 4))
def test_a_worse_word_never_lowers_risk_or_harm(
    tree: dict[str, Any], rating: dict[str, Any], word: str, other: int
) -> None:
    better, worse = sorted((rating[word], other))
    low, high = (one(tree, [{**rating, word: value}]) for value in (better, worse))
    assert low["risk"] <= high["risk"]
    assert low["harm"] <= high["harm"]


@given(TREE_ROW, RATING_ROW, RATING_ROW)
def test_a_higher_class_is_never_due_later_by_its_interval_or_to_be_acted_on(
    tree: dict[str, Any], first: dict[str, Any], second: dict[str, Any]
) -> None:
    same = {"occupancy": 3}
    low, high = sorted((one(tree, [{**r, **same}]) for r in (first, second)), key=lambda row: int(row["risk"]))
    assert or_never(high["act_by"]) <= or_never(low["act_by"])
    # Extreme risk is acted on at once and has no interval.
    if high["risk"] < 4:
        assert or_never(high["by_interval"]) <= or_never(low["by_interval"])


@given(st.integers(-20_000, 60_000), st.integers(0, 120), st.integers(0, 40))
def test_adding_months_keeps_the_order_of_days(start: int, months: int, later: int) -> None:
    assert add_months(start, months) <= add_months(start + later, months)
    assert add_months(start, months) >= start + 28 * months
    assert add_months(start, months) <= start + 31 * months
