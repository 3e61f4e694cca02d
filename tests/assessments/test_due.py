"""The due list and the queue of the unseen: the order of the methods exactly, page by page, and what is left out."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments import queries, services
from assessments.methods import due, priority
from assessments.models import Priority
from assessments.queries.due import DuePage
from inventory.history import SERVICE
from inventory.models import Tree
from tests.support import build, chance
from tests.support import inspections as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)
TREES = 12


@pytest.fixture
def trees() -> list[Tree]:
    return [build.tree(east=30 * place) for place in range(TREES)]


@st.composite
def priorities(draw: st.DrawFn) -> dict[str, Any]:
    """A row as a recompute may leave it; few distinct values, so that ties are common."""
    maybe = st.none() | chance.days()
    harm = draw(st.sampled_from([0.0, 1e-9, 1e-5, 3e-5, 4e-5, 1.5e-3, 0.1]) | st.floats(0, 1, width=32))
    return {
        "risk": draw(st.integers(0, 4)),
        "harm": float(np.float32(harm)),
        "act_by": draw(maybe | st.just(make.TODAY)),
        "inspect_by": draw(maybe | st.just(make.TODAY)),
        "last_seen": draw(maybe),
        "planted": draw(maybe),
        "rule": 0,
        "unseen_weight": draw(st.sampled_from([3.0, 30.0, 400.0])),
        "policy_version": 0,
        "method_version": 1,
    }


def write(trees: Sequence[Tree], rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    Priority.objects.all().delete()
    Priority.objects.bulk_create(Priority(tree=tree, **row) for tree, row in zip(trees, rows, strict=True))
    return [{**row, "tree_id": tree.pk} for tree, row in zip(trees, rows, strict=True)]


def walk(first: DuePage, following: Any) -> list[int]:
    """The trees of all pages."""
    found, page = [item.tree_id for item in first.items], first
    while page.after is not None:
        page = following(page.after)
        found += [item.tree_id for item in page.items]
    return found


many = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
rows_of_all = st.lists(priorities(), min_size=TREES, max_size=TREES)


@many
@given(given_rows=rows_of_all, today=chance.days())
def test_the_list_has_the_order_of_the_method_on_every_page(
    given_rows: list[dict[str, Any]], today: date, trees: list[Tree]
) -> None:
    rows = write(trees, given_rows)
    dated = [row for row in rows if row["act_by"] or row["inspect_by"]]
    expected = [row["tree_id"] for row in sorted(dated, key=lambda row: due.sort_key(row, today))]
    assert (
        walk(queries.due_list(today, limit=5), lambda after: queries.due_list(today, limit=5, after=after)) == expected
    )
    items = queries.due_list(today).items
    overdue = {row["tree_id"]: -due.sort_key(row, today)[2] for row in dated}
    assert {item.tree_id: item.days_overdue for item in items} == overdue


@many
@given(given_rows=rows_of_all, today=chance.days())
def test_the_queue_of_the_unseen_has_the_order_of_the_method(
    given_rows: list[dict[str, Any]], today: date, trees: list[Tree]
) -> None:
    rows = write(trees, given_rows)
    place = {
        row["tree_id"]: float(due.queue_place(row["unseen_weight"], day(row["last_seen"]), day(row["planted"]), today))
        for row in rows
        if due.unseen(row["risk"], day(row["inspect_by"]), today)
    }
    expected = sorted(place, key=lambda tree_id: (-place[tree_id], tree_id))
    assert (
        walk(queries.unseen_queue(today, limit=5), lambda after: queries.unseen_queue(today, limit=5, after=after))
        == expected
    )


def day(value: date | None) -> int:
    return priority.NULL_DATE if value is None else due.day_number(value)


@many
@given(given_rows=rows_of_all)
def test_the_summary_counts_what_the_lists_show(given_rows: list[dict[str, Any]], trees: list[Tree]) -> None:
    write(trees, given_rows)
    summary = queries.due_summary(make.TODAY)
    shown = queries.due_list(make.TODAY, kind="act", before=make.TODAY - DAY).items
    assert summary.act_overdue == len(shown)
    shown = queries.due_list(make.TODAY, kind="act", before=make.TODAY + 30 * DAY).items
    assert summary.act_overdue + summary.act_soon == len(shown)
    shown = queries.due_list(make.TODAY, kind="inspect", before=make.TODAY - DAY).items
    assert summary.inspect_overdue == len(shown)
    assert summary.unseen == len(queries.unseen_queue(make.TODAY).items)
    assert summary.trees == TREES == summary.never_rated + sum(summary.by_risk.values())


def test_a_lower_class_never_outranks_a_higher_one_however_late() -> None:
    late, high, never = build.tree(), build.tree(50), build.tree(100)
    make.inspected(late, make.rated("low", date(2015, 1, 1)))
    make.inspected(high, make.rated("high", make.TODAY))
    services.ask_check(SERVICE, never, kind="reinspect", due_on=date(2020, 1, 1), why="forgotten")
    assert [item.tree_id for item in queries.due_list(make.TODAY).items] == [high.pk, late.pk, never.pk]
    # It is not counted as low: it waits in the queue of the unseen.
    assert queries.due_summary(make.TODAY).by_risk == {"extreme": 0, "high": 1, "moderate": 0, "low": 1}
    assert {item.tree_id for item in queries.unseen_queue(make.TODAY).items} == {late.pk, never.pk}


def test_the_list_can_be_narrowed_to_a_zone_a_class_and_a_day() -> None:
    zone = build.zone(half_m=100.0)
    inside, outside = build.tree(0), build.tree(500)
    make.inspected(inside, make.rated("high", make.TODAY))
    make.inspected(outside, make.rated("moderate", make.TODAY))

    def shown(**narrow: Any) -> list[int]:
        return [item.tree_id for item in queries.due_list(make.TODAY, **narrow).items]

    assert shown(zone=zone.pk) == [inside.pk]
    assert shown(risk_class="moderate") == [outside.pk]
    assert shown(kind="act") == [inside.pk]
    assert shown(kind="inspect") == [inside.pk, outside.pk]
    assert shown(kind="act", before=make.TODAY + 29 * DAY) == []
    assert shown(kind="act", before=make.TODAY + 30 * DAY) == [inside.pk]
    with pytest.raises(ValueError, match="kind"):
        shown(kind="water")
    item = queries.due_list(make.TODAY, zone=zone.pk).items[0]
    assert (item.zone, item.species, item.risk, item.days_overdue) == ("Z1", "Tilia cordata", "high", -30)


def test_work_reported_done_leaves_a_look_due_and_no_more_work() -> None:
    tree = build.tree()
    make.inspected(tree, make.rated("high", make.TODAY - 60 * DAY))
    assert queries.due_list(make.TODAY, kind="act").items[0].days_overdue == 30
    services.ask_check(SERVICE, tree, kind="after_work", due_on=make.TODAY, why="pruned", source="order")
    assert queries.due_list(make.TODAY, kind="act").items == ()
    assert queries.due_summary(make.TODAY).act_overdue == 0
    assert queries.due_list(make.TODAY, kind="inspect").items[0].work_done


def test_the_reasons_say_which_rule_won_and_what_else_there_is() -> None:
    tree = build.tree()
    make.inspected(tree, make.rated("high", date(2026, 5, 1), findings=(make.finding(),)))
    services.ask_check(SERVICE, tree, kind="storm", due_on=date(2026, 7, 1), why="after the storm")
    (item,) = queries.due_list(make.TODAY).items
    shown = queries.priority_of(tree, make.TODAY)
    assert item.reasons == shown.reasons
    assert shown.rule == "check"
    assert shown.by_rule["check"] == date(2026, 7, 1)
    assert shown.by_rule["interval"] == date(2026, 11, 1)
    text = " ".join(shown.reasons)
    assert "Act by 2026-05-31" in text
    assert "178 days overdue" in text
    assert "Inspect by 2026-07-01: an open required check" in text
    assert "Later, 2026-11-01" in text
    assert shown.changes[-1].risk == 3


def test_the_lists_ask_the_same_number_of_statements_however_long(django_assert_num_queries: Any) -> None:
    for place in range(9):
        make.inspected(build.tree(east=30 * place), make.rated("high"))
    with django_assert_num_queries(3):
        assert len(queries.due_list(make.TODAY).items) == 9
    with django_assert_num_queries(3):
        assert len(queries.unseen_queue(make.TODAY + 900 * DAY).items) == 9


def test_open_emergencies_head_the_summary() -> None:
    tree = build.tree()
    make.inspected(tree, make.record(emergency=True, inspected_at=make.NOW))
    summary = queries.due_summary(make.TODAY)
    assert [one.tree_id for one in summary.emergencies] == [tree.pk]
    assert [item.tree_id for item in summary.top] == [tree.pk]
