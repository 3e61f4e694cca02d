"""A recompute of every tree's priority beside one UPDATE of two columns of every row of the tree table.

Ours reads the facts, computes, compares and writes, and notes each change of class or date. The baseline has its
indexes as migrated, history triggers off, after VACUUM. Both take turns in one run.
"""

import json
from typing import Any

from django.db import connection

from assessments import restate, services
from assessments.methods import policy
from deploy.bench import city, inspected
from deploy.bench.report import Clock, finish, peak_mib, say
from inventory.history import SERVICE

ROUNDS = 3
# The two policies between which each round changes: with another one every row is written and every date moves.
INTERVALS = ({"low": 60, "moderate": 36, "high": 12}, {"low": 48, "moderate": 24, "high": 6})


def run(scale: int, as_json: bool) -> None:
    """Recompute an invented city of `scale` trees; print how many times as long it takes as the UPDATE."""
    clock = Clock()
    city.plant(scale)
    inspected.inspect()
    _vacuum("tree", "inspection", "target", "rating", "finding", "required_check")
    say(f"planted and inspected {scale:,} trees")
    with clock.timed("first pass"):
        restate.restate_all()
    say("first pass", clock.rounds["first pass"])
    counts = [_round(clock, number) for number in range(ROUNDS)]
    baseline = clock.median("baseline")
    ratios = {name: round(clock.median(name) / baseline, 3) for name in ("all change", "nothing", "one in a hundred")}
    figures = {
        "ratios": ratios,
        "seconds": clock.figures(),
        "hot_share": _hot_share(),
        "peak_mib": peak_mib(),
        "counts": counts[-1],
    }
    finish("recompute", scale, ratios["all change"], figures, as_json=as_json)


def _round(clock: Clock, number: int) -> dict[str, Any]:
    services.adopt_policy(SERVICE, _policy(number), "benchmark")
    _vacuum("priority", "priority_change")
    with clock.timed("all change"):
        everything = restate.restate_all()
    _vacuum("priority", "priority_change")
    with clock.timed("nothing"):
        nothing = restate.restate_all()
    marked = _ask_checks(number)
    services.mark_trees(marked)
    with clock.timed("one in a hundred"):
        some = restate.restate_marked()
    _baseline(clock)
    for name in ("all change", "nothing", "one in a hundred", "baseline"):
        say(name, clock.rounds[name][-1:])
    return {"all change": everything.as_dict(), "nothing": nothing.as_dict(), "one in a hundred": some.as_dict()}


def _policy(number: int) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(policy.default_policy_text())
    months = INTERVALS[number % 2]
    data["interval_months"] = {risk: dict.fromkeys(policy.OCCUPANCIES, months[risk]) for risk in months}
    data["unrated_interval_months"] = dict.fromkeys(policy.OCCUPANCIES, 24 + 12 * (number % 2))
    return data


def _ask_checks(number: int) -> list[int]:
    """A new fact at one tree in a hundred, so that its date moves."""
    with SERVICE.acting("benchmark"), connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO required_check (tree_id, kind, due_on, why, source, asked_on)"
            " SELECT id, 'storm', %s::date, 'benchmark', 'storm', '2026-01-01' FROM tree WHERE id %% 100 = 3"
            " RETURNING tree_id",
            [f"{2010 - number}-01-01"],
        )
        return [tree_id for (tree_id,) in cursor.fetchall()]


def _baseline(clock: Clock) -> None:
    _vacuum("tree")
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE tree DISABLE TRIGGER USER")
        with clock.timed("baseline"):
            cursor.execute("UPDATE tree SET dbh_cm = dbh_cm + 0.1, height_m = height_m + 0.1")
        cursor.execute("ALTER TABLE tree ENABLE TRIGGER USER")


def _vacuum(*tables: str) -> None:
    with connection.cursor() as cursor:
        for table in tables:
            cursor.execute(f"VACUUM ANALYZE {table}")


def _hot_share() -> float:
    """The share of the updates of the priorities that stayed in their page."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_stat_force_next_flush()")
        cursor.execute(
            "SELECT n_tup_hot_upd::float / nullif(n_tup_upd, 0) FROM pg_stat_user_tables WHERE relname = 'priority'"
        )
        return round(float(cursor.fetchone()[0] or 0), 4)
