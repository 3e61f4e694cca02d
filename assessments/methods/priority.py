"""Priority and dates of a whole city from facts and a policy: no clock in it, dates follow from facts alone.

Method: the project's own; interval ranges after ISA BMP Tree Risk Assessment, 2nd ed. 2017.
Dates are int32 days since 1970-01-01; NULL_DATE means none.
"""

from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from .harm import harm_codes
from .policy import Policy
from .risk import EXTREME, HIGH, UNKNOWN, rate_codes

METHOD: Final = "priority"
VERSION: Final = 3

NULL_DATE: Final = int(np.iinfo(np.int32).min)
# While computing, "none" must lose against every date.
_NEVER: Final = int(np.iinfo(np.int32).max)

TREE: Final = np.dtype(
    [
        ("tree_id", "i8"),
        ("planted", "i4"),
        ("dbh_cm", "f4"),  # NaN: unknown
        ("occupancy", "u1"),  # code; 0: unknown
        ("last_seen", "i4"),  # last inspection of any level
        ("last_rated", "i4"),  # last inspection with a rating
        (
            "decay_sign",
            "u1",
        ),  # 1: an outside sign of decay or of another weakening process
        ("check_due", "i4"),  # earliest open required check
        ("act_due", "i4"),  # earliest open decided or must-do mitigation
        ("growth_due", "i4"),  # earliest date by which decay that was measured inside is to be measured again
        ("accepted_until", "i4"),  # the owner has accepted the risk of the newest rating until then
    ]
)
RATING: Final = np.dtype(
    [
        ("tree_id", "i8"),
        ("failure", "u1"),
        ("impact", "u1"),
        ("consequences", "u1"),
        ("frame_years", "u1"),
        ("people", "u1"),  # 1: people or vehicles with people; 0: property
        ("occupancy", "u1"),
    ]
)
RESULT: Final = np.dtype(
    [
        ("tree_id", "i8"),
        ("risk", "u1"),  # code; 0: never rated
        (
            "harm",
            "f4",
        ),  # expected deaths a year, property converted (harm.MONEY_PER_DEATH), central map
        ("act_by", "i4"),
        ("inspect_by", "i4"),
        ("by_interval", "i4"),
        ("by_decay", "i4"),
        ("by_establishment", "i4"),
        ("by_check", "i4"),
        ("by_decay_growth", "i4"),
        ("rule", "u1"),  # place in RULES of the rule that set inspect_by
        (
            "unseen_weight",
            "f4",
        ),  # occupancy weight x dbh in cm; times days unseen when read
    ]
)
# On the same day the more particular rule, the later one here, is named.
RULES: Final = ("none", "interval", "decay", "establishment", "check", "decay_growth")

Rows: TypeAlias = npt.NDArray[np.void]
Days: TypeAlias = npt.NDArray[np.int32]
Codes: TypeAlias = npt.NDArray[np.uint8]
Places: TypeAlias = npt.NDArray[np.intp]


def add_months(days: npt.ArrayLike, months: npt.ArrayLike) -> Days:
    """Add calendar months to days since 1970-01-01; past the end of a short month its last day is meant.

    >>> jan31 = np.datetime64("2026-01-31").astype("i4")
    >>> add_months(jan31, 1).astype("M8[D]").item().isoformat()
    '2026-02-28'
    """
    dates = np.asarray(days).astype("M8[D]")
    month = dates.astype("M8[M]")
    day_of_month = dates - month.astype("M8[D]")
    target = month + np.asarray(months).astype("m8[M]")
    last = (target + np.timedelta64(1, "M")).astype("M8[D]") - np.timedelta64(1, "D")
    return np.asarray(np.minimum(target.astype("M8[D]") + day_of_month, last).astype(np.int32))


def prioritise(trees: Rows, ratings: Rows, policy: Policy) -> Rows:
    """Compute risk, harm, dates and the rule that won for each tree, in the order given.

    `trees` (n,) of TREE with distinct ids, `ratings` (m,) of RATING in any order; gives (n,) of RESULT.
    Raises ValueError for a rating of a tree that is not given, a code or a frame out of range, doubled ids.
    """
    result = np.empty(len(trees), RESULT)
    place = _places(trees["tree_id"], ratings["tree_id"])
    risk, harm = _risk_and_harm(len(trees), place, ratings)
    occupancy = _worst(trees["occupancy"], place, ratings["occupancy"])
    result["tree_id"] = trees["tree_id"]
    result["risk"] = risk
    result["harm"] = harm
    result["act_by"] = _act_by(trees, risk, policy)
    by_rule = {
        "by_interval": _by_interval(trees, risk, occupancy, policy),
        "by_establishment": _by_establishment(trees, policy),
        "by_check": _or_never(trees["check_due"]),
        "by_decay_growth": _or_never(trees["growth_due"]),
    }
    by_rule["by_decay"] = _by_decay(trees, risk, by_rule["by_interval"], policy)
    _set_inspect_by(result, by_rule)
    result["unseen_weight"] = _unseen_weight(trees["dbh_cm"], occupancy, policy)
    return result


def _places(tree_ids: npt.NDArray[np.int64], wanted_ids: npt.NDArray[np.int64]) -> Places:
    """Find the row of each wanted id: by a table over the range of ids if that is narrow, else by search."""
    ids, wanted = np.ascontiguousarray(tree_ids), np.ascontiguousarray(wanted_ids)
    low, high = (int(ids.min()), int(ids.max())) if ids.size else (0, 0)
    if wanted.size and not (ids.size and low <= wanted.min() and wanted.max() <= high):
        raise ValueError(_NOT_GIVEN)
    close = high - low < 8 * ids.size + 1024
    found = _by_table(ids - low, wanted - low, high - low + 1) if close else _by_search(ids, wanted)
    if np.any(ids[found] != wanted):
        raise ValueError(_NOT_GIVEN)
    return found


def _by_table(ids: npt.NDArray[np.int64], wanted: npt.NDArray[np.int64], span: int) -> Places:
    rows = np.arange(ids.size)
    table = np.zeros(span, np.intp)
    table[ids] = rows
    if np.any(table[ids] != rows):
        raise ValueError(_TWICE)
    return np.asarray(table[wanted])


def _by_search(ids: npt.NDArray[np.int64], wanted: npt.NDArray[np.int64]) -> Places:
    order = np.argsort(ids, kind="stable")
    rising = ids[order]
    if np.any(rising[1:] == rising[:-1]):
        raise ValueError(_TWICE)
    return np.asarray(order[np.searchsorted(rising, wanted)])


_NOT_GIVEN: Final = "ratings: tree_id of a tree that is not given"
_TWICE: Final = "trees: tree_id given twice"


def _worst(start: Codes, place: Places, codes: Codes) -> Codes:
    """Raise each tree's code to the highest of its ratings; writing in rising order leaves the highest."""
    worst = np.array(start, np.uint8)
    values = np.ascontiguousarray(codes)
    for value in range(1, 5):
        rows = place[values == value]
        worst[rows[worst[rows] < value]] = value
    return worst


def _risk_and_harm(count: int, place: Places, ratings: Rows) -> tuple[Codes, npt.NDArray[np.float64]]:
    failure, impact, consequences = (
        np.ascontiguousarray(ratings[name]) for name in ("failure", "impact", "consequences")
    )
    risk = rate_codes(failure, impact, consequences)
    harm = harm_codes(failure, impact, consequences, ratings["frame_years"], ratings["people"] != 0)
    total = np.bincount(place, weights=harm, minlength=count)
    return _worst(np.zeros(count, np.uint8), place, risk), total.astype(np.float64)


def _or_never(dates: Days) -> Days:
    """Copy dates with NULL_DATE replaced by a day later than every date."""
    return np.where(dates == NULL_DATE, np.int32(_NEVER), dates).astype(np.int32)


def _counted_from(trees: Rows, risk: Codes) -> Days:
    """Give the day an interval counts from: the last rating of a rated tree, else when it was last seen."""
    rated = (risk != UNKNOWN) & (trees["last_rated"] != NULL_DATE)
    return np.where(rated, trees["last_rated"], trees["last_seen"]).astype(np.int32)


def months_between_looks(policy: Policy, risk: int, occupancy: int) -> int:
    """Give the policy's interval in months by codes of risk (0: not rated; extreme: as high) and of occupancy.

    >>> from .policy import default_policy
    >>> months_between_looks(default_policy(), HIGH, 4)
    6
    """
    return int(_interval_months(policy)[min(risk, HIGH), occupancy])


def _interval_months(policy: Policy) -> npt.NDArray[np.int32]:
    """Set the policy out as months by risk and occupancy code, (5, 5); extreme has no interval (0)."""
    rows = (
        policy.unrated_months,
        policy.low_months,
        policy.moderate_months,
        policy.high_months,
        (0,) * 5,
    )
    return np.array(rows, np.int32)


def _by_interval(trees: Rows, risk: Codes, occupancy: Codes, policy: Policy) -> Days:
    start = _counted_from(trees, risk)
    due = np.full(len(trees), _NEVER, np.int32)
    rows = np.flatnonzero((start != NULL_DATE) & (risk != EXTREME))
    due[rows] = add_months(start[rows], _interval_months(policy)[risk[rows], occupancy[rows]])
    return due


def _by_decay(trees: Rows, risk: Codes, by_interval: Days, policy: Policy) -> Days:
    """Halve the interval of trees with an outside sign of decay: sooner, never at once."""
    due = np.full(len(trees), _NEVER, np.int32)
    if policy.decay_halves_interval:
        rows = np.flatnonzero((trees["decay_sign"] != 0) & (by_interval != _NEVER))
        start = _counted_from(trees[rows], risk[rows])
        due[rows] = start + (by_interval[rows] - start) // 2
    return due


def _by_establishment(trees: Rows, policy: Policy) -> Days:
    """Give the first visit after planting that lies after the tree was last seen."""
    due = np.full(len(trees), _NEVER, np.int32)
    planted, seen = trees["planted"], trees["last_seen"]
    start = policy.establishment_planted_from
    first = NULL_DATE + 1 if start is None else int(np.datetime64(start, "D").astype(np.int64))
    rows = np.flatnonzero(planted >= first)
    for months in reversed(policy.establishment_months):
        visit = add_months(planted[rows], months)
        due[rows] = np.where(visit > seen[rows], visit, due[rows])
    return due


def _act_by(trees: Rows, risk: Codes, policy: Policy) -> Days:
    """Give the earlier of the date already decided and, for high and extreme risk, the policy's days.

    Where the owner has accepted the risk until a later day, that day stands instead of the policy's.
    """
    due = _or_never(trees["act_due"])
    for level, days in (
        (HIGH, policy.act_by_days_high),
        (EXTREME, policy.act_by_days_extreme),
    ):
        rows = np.flatnonzero(risk == level)
        start = _counted_from(trees[rows], risk[rows])
        # NULL_DATE is earlier than every day.
        must = np.maximum(start + days, trees["accepted_until"][rows])
        due[rows] = np.where(start == NULL_DATE, due[rows], np.minimum(due[rows], must))
    return _or_null(due)


def _or_null(dates: Days) -> Days:
    return np.where(dates == _NEVER, np.int32(NULL_DATE), dates).astype(np.int32)


def _set_inspect_by(result: Rows, by_rule: dict[str, Days]) -> None:
    due = np.full(len(result), _NEVER, np.int32)
    rule = np.zeros(len(result), np.uint8)
    for number, name in enumerate(RULES[1:], start=1):
        dates = by_rule[f"by_{name}"]
        wins = (dates <= due) & (dates != _NEVER)
        due[wins] = dates[wins]
        rule[wins] = number
        result[f"by_{name}"] = _or_null(dates)
    result["inspect_by"] = _or_null(due)
    result["rule"] = rule


def _unseen_weight(dbh_cm: npt.NDArray[np.float32], occupancy: Codes, policy: Policy) -> npt.NDArray[np.float32]:
    size = np.where(np.isnan(dbh_cm), np.float32(policy.unknown_dbh_cm), dbh_cm)
    return np.asarray(size * np.array(policy.occupancy_weight, np.float32)[occupancy], np.float32)
