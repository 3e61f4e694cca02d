"""The due list, the queue of the unseen and their summary."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.db import connection

from assessments.methods import due as methods
from assessments.methods import priority, risk
from assessments.models import Inspection
from assessments.queries import priorities
from assessments.queries.inspections import open_emergencies
from inventory.statements import statement

KINDS: Final = ("act", "inspect", "all")
# What "soon" means in the summary: project's choice.
SOON: Final = timedelta(days=30)
Key = tuple[int, int, int, float, int]


@dataclass(frozen=True)
class DueItem:
    """One tree of the list. `work_done`: work was reported done since it was rated, so a check is due, not work."""

    tree_id: int
    tree_uid: uuid.UUID
    tag: str
    species: str
    common_name: str
    dbh_cm: float | None
    state: str
    longitude: float
    latitude: float
    address: str
    zone: str
    zone_name: str
    risk: str
    harm: float
    act_by: date | None
    inspect_by: date | None
    days_overdue: int | None
    rule: str
    last_seen: date | None
    work_done: bool
    reasons: tuple[str, ...]
    policy_version: int
    method_version: int


@dataclass(frozen=True)
class DuePage:
    """Some items of a list and the key after which the next page goes on (None: this is the last one)."""

    items: tuple[DueItem, ...]
    after: tuple[Any, ...] | None


@dataclass(frozen=True)
class DueSummary:
    """How much is due. `unseen` (never rated, or overdue to be seen) is a queue of its own, never low risk."""

    today: date
    trees: int
    by_risk: dict[str, int]
    never_rated: int
    act_overdue: int
    act_soon: int
    inspect_overdue: int
    inspect_soon: int
    unseen: int
    emergencies: tuple[Inspection, ...]
    top: tuple[DueItem, ...]


def due_list(
    today: date,
    *,
    kind: str = "all",
    zone: int | None = None,
    risk_class: str | None = None,
    before: date | None = None,
    limit: int = 100,
    after: Sequence[Any] | None = None,
) -> DuePage:
    """The trees with a date, the most urgent first, as methods.due.sort_key has it.

    `kind`: `act` (a mitigation by a date, none reported done since), `inspect`, or `all`; `zone`: its id; `before`:
    the date of that kind lies on or before this day; `after`: the key of an earlier page. One statement, and two for
    the reasons. Raises ValueError for an unknown kind or class.
    """
    where, params = _filters(zone, risk_class)
    where += _of_kind(kind, before is not None)
    go_on = "true"
    if after is not None:
        go_on = "(-risk, -half_decade, due_key, -harm, tree_id) > (%(k0)s, %(k1)s, %(k2)s, %(k3)s::float8, %(k4)s)"
        params |= {f"k{place}": value for place, value in enumerate(after)}
    rows = _rows("due_list", where, go_on, params | {"before": before, "limit": limit + 1})
    items = _items(rows[:limit], today)
    return DuePage(items, _key(rows[limit - 1]) if len(rows) > limit else None)


def unseen_queue(
    today: date, *, zone: int | None = None, limit: int = 100, after: Sequence[Any] | None = None
) -> DuePage:
    """The trees never rated or overdue to be seen, by occupancy x size x time since last seen, largest first."""
    where, params = _filters(zone, None)
    params |= {"today": today, "never_days": methods.NEVER_SEEN_DAYS, "limit": limit + 1}
    go_on = "true"
    if after is not None:
        go_on = "(-place, tree_id) > (%(k0)s::float8, %(k1)s)"
        params |= {f"k{place}": value for place, value in enumerate(after)}
    rows = _rows("unseen_queue", where, go_on, params)
    last = rows[limit - 1] if len(rows) > limit else None
    return DuePage(_items(rows[:limit], today), (-last["place"], last["tree_id"]) if last else None)


def due_summary(today: date, top: int = 10) -> DueSummary:
    """How much is due, open emergencies, and the first items of the list that are due by now or soon."""
    with connection.cursor() as cursor:
        cursor.execute(statement("assessments", "due_summary"), {"today": today, "soon": today + SOON})
        names = [column.name for column in cursor.description or ()]
        counts = dict(zip(names, cursor.fetchone(), strict=True))
    return DueSummary(
        today=today,
        by_risk={word: counts.pop(word) for word in reversed(risk.RISK)},
        emergencies=tuple(open_emergencies()[:top]),
        top=due_list(today, before=today + SOON, limit=top).items,
        **counts,
    )


def _filters(zone: int | None, risk_class: str | None) -> tuple[list[str], dict[str, Any]]:
    where, params = ["true"], dict[str, Any]()
    if zone is not None:
        where.append("tree_id IN (SELECT id FROM tree WHERE zone_id = %(zone)s)")
        params["zone"] = zone
    if risk_class is not None:
        where.append("risk = %(risk)s")
        params["risk"] = risk.code(risk.RISK, risk_class)
    return where, params


def _of_kind(kind: str, dated: bool) -> list[str]:
    date_of = {"act": "act_by", "inspect": "inspect_by", "all": "due"}
    if kind not in date_of:
        raise ValueError(f"kind: must be one of {', '.join(KINDS)}")
    where = [f"{date_of[kind]} <= %(before)s" if dated else f"{date_of[kind]} IS NOT NULL"]
    return [*where, f"NOT {_WORK_DONE}"] if kind == "act" else where


_WORK_DONE: Final = (
    "EXISTS (SELECT FROM required_check c"
    " WHERE c.tree_id = q.tree_id AND c.closed_on IS NULL AND c.kind = 'after_work')"
)


def _rows(name: str, where: Sequence[str], after: str, params: dict[str, Any]) -> list[dict[str, Any]]:
    query = statement("assessments", name).replace("{where}", " AND ".join(where)).replace("{after}", after)
    with connection.cursor() as cursor:
        cursor.execute(query, params)
        names = [column.name for column in cursor.description or ()]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def _key(row: dict[str, Any]) -> Key:
    return (-row["risk"], -row["half_decade"], row["due_key"], -row["harm"], row["tree_id"])


def _items(rows: Sequence[dict[str, Any]], today: date) -> tuple[DueItem, ...]:
    reasons = priorities.reasons(rows, today)
    return tuple(_item(row, reasons.get(row["tree_id"], ()), today) for row in rows)


def _item(row: dict[str, Any], reasons: tuple[str, ...], today: date) -> DueItem:
    return DueItem(
        tree_id=row["tree_id"],
        tree_uid=row["uid"],
        tag=row["tag"] or "",
        species=row["botanical_name"] or row["species_text"],
        common_name=row["common_en"] or "",
        dbh_cm=row["dbh_cm"],
        state=row["state"],
        longitude=row["lon"],
        latitude=row["lat"],
        address=f"{row['street'] or ''} {row['house_number'] or ''}".strip() or row["site_place"] or "",
        zone=row["zone"] or "",
        zone_name=row["zone_name"] or "",
        risk=risk.word(risk.RISK, row["risk"]),
        harm=row["harm"],
        act_by=row["act_by"],
        inspect_by=row["inspect_by"],
        days_overdue=(today - row["due"]).days if row["due"] else None,
        rule=priority.RULES[row["rule"]],
        last_seen=row["last_seen"],
        work_done=row["work_done"],
        reasons=reasons,
        policy_version=row["policy_version"],
        method_version=row["method_version"],
    )
