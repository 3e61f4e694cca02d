"""Invented trees and ratings as arrays, for laws of the priority that must hold for any city."""

from typing import Any

import numpy as np
from hypothesis import strategies as st

from assessments.methods.policy import Policy, default_policy
from assessments.methods.priority import NULL_DATE, RATING, TREE, Rows, prioritise

POLICY = default_policy()
CODE = st.integers(0, 4)
WORD = st.integers(1, 4)
DAY = st.one_of(st.just(NULL_DATE), st.integers(15_000, 21_000))

TREE_ROW = st.fixed_dictionaries(
    {
        "planted": DAY,
        "dbh_cm": st.one_of(st.just(float("nan")), st.floats(1, 200, width=32)),
        "occupancy": CODE,
        "last_seen": DAY,
        "last_rated": DAY,
        "decay_sign": st.integers(0, 1),
        "growth_due": DAY,
        "accepted_until": DAY,
        "check_due": DAY,
        "act_due": DAY,
    }
)
RATING_ROW = st.fixed_dictionaries(
    {
        "failure": WORD,
        "impact": WORD,
        "consequences": WORD,
        "frame_years": st.integers(1, 5),
        "people": st.integers(0, 1),
        "occupancy": CODE,
    }
)
# A tree row and its ratings.
TREE_AND_RATINGS = st.tuples(TREE_ROW, st.lists(RATING_ROW, max_size=4))
CITY = st.lists(TREE_AND_RATINGS, max_size=8)

NOTHING: dict[str, Any] = {
    "planted": NULL_DATE,
    "dbh_cm": 40.0,
    "occupancy": 3,
    "last_seen": NULL_DATE,
    "last_rated": NULL_DATE,
    "decay_sign": 0,
    "growth_due": NULL_DATE,
    "accepted_until": NULL_DATE,
    "check_due": NULL_DATE,
    "act_due": NULL_DATE,
}


def tree_rows(rows: list[dict[str, Any]], ids: list[int] | None = None) -> Rows:
    ids = ids or list(range(1, len(rows) + 1))
    return _array(TREE, [{"tree_id": tree_id, **row} for tree_id, row in zip(ids, rows, strict=True)])


def rating_rows(rows: list[dict[str, Any]], tree_id: int = 1) -> Rows:
    return _array(RATING, [{"tree_id": tree_id, **row} for row in rows])


def _array(dtype: np.dtype[np.void], rows: list[dict[str, Any]]) -> Rows:
    assert dtype.names is not None
    return np.array([tuple(row[name] for name in dtype.names) for row in rows], dtype)


def city_rows(city: list[tuple[dict[str, Any], list[dict[str, Any]]]], ids: list[int]) -> tuple[Rows, Rows]:
    ratings = [
        {"tree_id": tree_id, **rating} for tree_id, (_, rated) in zip(ids, city, strict=True) for rating in rated
    ]
    return tree_rows([tree for tree, _ in city], ids), _array(RATING, ratings)


def one(tree: dict[str, Any], rated: list[dict[str, Any]], policy: Policy = POLICY) -> np.void:
    """The result of a city of one tree."""
    row: np.void = prioritise(tree_rows([tree]), rating_rows(rated), policy)[0]
    return row
