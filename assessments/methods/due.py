"""What is worked out when a priority is read: order of the list, days overdue, the unseen, the reasons.

Only here does "today" enter; what is stored (priority.RESULT) stays true until a fact or the policy changes.
"""

from collections.abc import Mapping
from datetime import date
from typing import Any, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from .policy import Policy
from .priority import NULL_DATE, RULES, Days, Places, Rows
from .risk import HIGH, RISK, UNKNOWN, word

METHOD: Final = "due_order"
VERSION: Final = 1

# A tree never seen counts as unseen for ten years, or since a later planting: project's choice.
NEVER_SEEN_DAYS: Final = 3650
_EPOCH: Final = date(1970, 1, 1).toordinal()
_FAR: Final = int(np.iinfo(np.int32).max)

# A row of priority.RESULT or priority.TREE, or a mapping with the same names (None for no date).
Row: TypeAlias = Mapping[str, Any] | np.void


def day_number(day: date) -> int:
    """Give the days since 1970-01-01.

    >>> day_number(date(1970, 1, 2))
    1
    """
    return day.toordinal() - _EPOCH


def due_date(act_by: npt.ArrayLike, inspect_by: npt.ArrayLike) -> Days:
    """Give the earlier of the two dates, days since 1970-01-01; NULL_DATE where both are none."""
    first, second = (np.asarray(dates, np.int32) for dates in (act_by, inspect_by))
    earlier = np.minimum(
        np.where(first == NULL_DATE, _FAR, first),
        np.where(second == NULL_DATE, _FAR, second),
    )
    return np.asarray(np.where(earlier == _FAR, NULL_DATE, earlier), np.int32)


def days_overdue(act_by: npt.ArrayLike, inspect_by: npt.ArrayLike, today: date) -> npt.NDArray[np.int64]:
    """Give the days since the earlier date passed, negative before it; without a date the least int32.

    >>> int(days_overdue(day_number(date(2026, 5, 1)), NULL_DATE, date(2026, 5, 11)))
    10
    """
    due = due_date(act_by, inspect_by).astype(np.int64)
    return np.where(due == NULL_DATE, NULL_DATE, day_number(today) - due)


def half_decades(harm: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Round harm a year to the nearest half decade: 2 x log10, as a whole number; no harm gives -99.

    >>> half_decades([1e-5, 0.0]).tolist()
    [-10, -99]
    """
    values = np.asarray(harm, np.float64)
    return np.asarray(np.rint(2 * np.log10(np.where(values > 0, values, 10**-49.5))), np.int64)


def sort_key(row: Row, today: date) -> tuple[int, int, int, float, int]:
    """Give the place of one row, smallest first: band, half decade of harm, days overdue, harm, id.

    A lower risk class never comes before a higher one. Trees never rated come last: they queue apart.
    """
    overdue = days_overdue(_day(row["act_by"]), _day(row["inspect_by"]), today)
    harm = float(row["harm"])
    return (
        -int(row["risk"]),
        -int(half_decades(harm)),
        -int(overdue),
        -harm,
        int(row["tree_id"]),
    )


def order(results: Rows, today: date) -> Places:
    """Give the places that put (n,) rows of RESULT in the order of `sort_key`."""
    overdue = days_overdue(results["act_by"], results["inspect_by"], today)
    harm = results["harm"].astype(np.float64)
    bands = results["risk"].astype(np.int64)
    return np.lexsort((results["tree_id"], -harm, -overdue, -half_decades(harm), -bands))


def unseen(risk: npt.ArrayLike, inspect_by: npt.ArrayLike, today: date) -> npt.NDArray[np.bool_]:
    """Tell which trees belong in the queue of the unseen: never rated, or past their inspection date."""
    due = np.asarray(inspect_by)
    return np.asarray((np.asarray(risk) == UNKNOWN) | ((due != NULL_DATE) & (due < day_number(today))))


def queue_place(
    unseen_weight: npt.ArrayLike,
    last_seen: npt.ArrayLike,
    planted: npt.ArrayLike,
    today: date,
) -> npt.NDArray[np.float64]:
    """Give the place value in the queue of the unseen, largest first: weight x days since last seen.

    Never seen: since planting, at most NEVER_SEEN_DAYS. Dates in days since 1970-01-01, NULL_DATE for none.

    >>> float(queue_place(30.0, day_number(date(2026, 1, 1)), NULL_DATE, date(2026, 1, 11)))
    300.0
    """
    now = day_number(today)
    seen = np.asarray(last_seen, np.int64)
    never = np.maximum(np.asarray(planted, np.int64), now - NEVER_SEEN_DAYS)
    days = np.maximum(now - np.where(seen == NULL_DATE, never, seen), 0)
    return np.asarray(np.asarray(unseen_weight, np.float64) * days)


def _day(value: Any) -> int:
    if value is None:
        return NULL_DATE
    return day_number(value) if isinstance(value, date) else int(value)


def _date(value: Any) -> date | None:
    day = _day(value)
    return None if day == NULL_DATE else date.fromordinal(day + _EPOCH)


def _overdue(due: date, today: date) -> str:
    late = (today - due).days
    return f" {_days(late)} overdue." if late > 0 else ""


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def reasons(result: Row, tree: Row, policy: Policy, today: date) -> list[str]:
    """Say in plain sentences why a tree has its class and dates, the rule that won first.

    `result` and `tree` are rows of priority.RESULT and priority.TREE (or mappings with the same names).
    """
    return [
        _about_risk(result, tree),
        *_about_acting(result, tree, policy, today),
        *_about_dates(result, tree, policy, today),
    ]


def _about_risk(result: Row, tree: Row) -> str:
    if not result["risk"]:
        return "Never rated: this tree is not counted as low risk, it waits in the queue of trees to be seen."
    rated = _date(tree["last_rated"])
    return f"The worst rating is {word(RISK, int(result['risk']))}" + (f", made on {rated}." if rated else ".")


def _about_acting(result: Row, tree: Row, policy: Policy, today: date) -> list[str]:
    act_by, decided = _date(result["act_by"]), _date(tree["act_due"])
    if act_by is None:
        return []
    if act_by == decided:
        why = "a decided or required mitigation is due then."
    elif act_by == _date(tree["accepted_until"]):
        why = "until then the owner has accepted the risk."
    else:
        risk = int(result["risk"])
        days = policy.act_by_days_high if risk == HIGH else policy.act_by_days_extreme
        why = f"policy {policy.version} asks for {word(RISK, risk)} risk to be acted on within {_days(days)}."
    return [f"Act by {act_by}: {why}{_overdue(act_by, today)}"]


def _about_dates(result: Row, tree: Row, policy: Policy, today: date) -> list[str]:
    winner = RULES[int(result["rule"])]
    due = _date(result["inspect_by"])
    if due is None:
        return ["No inspection date: no rule of the policy gives one."]
    first = f"Inspect by {due}: {_why(winner, result, tree, policy)}{_overdue(due, today)}"
    others = [name for name in RULES[1:] if name != winner and _date(result[f"by_{name}"])]
    return [first] + [f"Later, {_date(result[f'by_{name}'])}: {_why(name, result, tree, policy)}" for name in others]


def _why(rule: str, result: Row, tree: Row, policy: Policy) -> str:
    if rule == "check":
        return "an open required check is due then."
    if rule == "establishment":
        return f"a visit of the young tree planted on {_date(tree['planted'])} (policy {policy.version})."
    if rule == "decay":
        return "an outside sign of decay or weakening halves the interval; it says sooner, not now."
    if rule == "decay_growth":
        asked = policy.decay_growth
        return (
            f"by then the chance that the wall measured inside is thinner than t/R {asked.least_t_over_r:g} reaches"
            f" {asked.chance_percent:g} % (policy {policy.version}); measure it again."
        )
    return _why_interval(result, tree, policy)


def _why_interval(result: Row, tree: Row, policy: Policy) -> str:
    rated = _date(tree["last_rated"]) if result["risk"] else None
    start, end = rated or _date(tree["last_seen"]), _date(result["by_interval"])
    if start is None or end is None:
        return f"the interval of policy {policy.version}."
    months = (end.year - start.year) * 12 + end.month - start.month
    kind = f"{word(RISK, int(result['risk']))} risk" if result["risk"] else "a tree without a rating"
    event = "rating" if rated else "last inspection"
    return f"{months} months after the {event} on {start}, the interval of policy {policy.version} for {kind}."
