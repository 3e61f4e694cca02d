"""Recompute: the same rows however often, in whatever order, for one tree or all; only what differs is written."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings

from assessments import inputs, restate, services
from assessments.methods import policy as methods
from assessments.models import Mark, Priority, PriorityChange, RequiredCheck
from assessments.records import InspectionRecord
from inventory.history import SERVICE
from inventory.models import Site, Tree
from inventory.services import remove_tree
from tests.support import build, chance
from tests.support import inspections as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
some_examples = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def rows(tree_ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """The priorities, by tree."""
    found = Priority.objects.order_by("tree")
    return [dict(row) for row in (found if tree_ids is None else found.filter(tree__in=tree_ids)).values()]


def city_of(histories: Sequence[Sequence[InspectionRecord]], occupancy: str | None = None) -> list[Tree]:
    """Trees with what came in for each."""
    trees = [build.tree() for _ in histories]
    with SERVICE.acting("the sites as they are"):
        Site.objects.filter(trees__in=trees).update(occupancy=occupancy)
    for tree, records in zip(trees, histories, strict=True):
        for record in records:
            make.inspected(tree, record)
    return trees


@some_examples
@given(histories=chance.histories())
def test_the_nightly_pass_gives_what_each_service_gave(histories: list[list[InspectionRecord]]) -> None:
    Priority.objects.all().delete()
    trees = city_of(histories)
    restate.restate([tree.pk for tree in trees])
    ids = [tree.pk for tree in trees]
    by_services = rows(ids)
    restate.restate_all()
    assert rows(ids) == by_services
    Priority.objects.filter(tree__in=ids).delete()
    restate.restate_all()
    assert rows(ids) == by_services


@some_examples
@given(histories=chance.histories(1))
def test_the_order_of_arrival_does_not_matter(histories: list[list[InspectionRecord]]) -> None:
    one, other = city_of([histories[0], [_again(record) for record in reversed(histories[0])]])
    restate.restate([one.pk, other.pk])
    first, second = ({**row, "tree_id": 0} for row in rows([one.pk, other.pk]))
    # The copies have uids of their own: two inspections of one instant may be told apart the other way round.
    if len({record.inspected_at for record in histories[0]}) == len(histories[0]):
        assert first == second


def _again(record: InspectionRecord) -> InspectionRecord:
    return replace(record, uid=make.record().uid)


def naive(tree: Tree) -> dict[str, Any]:
    """What inputs.read must say of a tree, worked out one tree at a time from the rows, in plain Python."""
    seen = sorted(tree.inspections.all(), key=lambda one: (one.inspected_at, str(one.uid)))
    rated = [one for one in seen if one.ratings.exists()]
    looked = [one for one in seen if one.ratings.exists() or (one.level != "limited_visual" and not one.emergency)]
    since_look = [one for one in seen if not looked or one.inspected_at >= looked[-1].inspected_at]
    since_rating = [one for one in seen if one.inspected_at >= rated[-1].inspected_at] if rated else since_look
    emergencies = [one for one in (since_rating if rated else seen) if one.emergency]
    kinds = {finding.kind for one in since_look for finding in one.findings.all()}
    there = [target.occupancy for one in since_rating for target in one.targets.all()]
    words = ("rare", "occasional", "frequent", "constant")
    fallback = tree.site.occupancy if tree.site else None
    checks = RequiredCheck.objects.filter(tree=tree, closed_on=None)
    return {
        "last_seen": max((one.inspected_on for one in seen), default=None),
        "last_rated": max((one.inspected_on for one in rated), default=None),
        "decay_sign": int(bool(kinds & set(inputs.WEAKENING_KINDS))),
        "occupancy": max((words.index(word) + 1 for word in there or ([fallback] if fallback else [])), default=0),
        "check_due": min((check.due_on for check in checks), default=None),
        "act_due": min((one.inspected_on for one in emergencies), default=None),
    }


@some_examples
@given(histories=chance.histories())
def test_what_is_read_for_many_is_what_one_reads_tree_by_tree(histories: list[list[InspectionRecord]]) -> None:
    trees = city_of(histories, occupancy="occasional")
    ids = [tree.pk for tree in trees]
    listed, ratings = inputs.read(inputs.Chosen.of(ids))
    ranged = inputs.read(inputs.Chosen.between(ids[0] - 1, ids[-1]))
    assert (ranged[0].tobytes(), ranged[1].tobytes()) == (listed.tobytes(), ratings.tobytes())
    for tree, row in zip(trees, listed, strict=True):
        found = {name: row[name].item() for name in naive(tree)}
        for name in ("last_seen", "last_rated", "check_due", "act_due"):
            found[name] = None if found[name] == -(2**31) else date.fromordinal(found[name] + 719_163)
        assert found == naive(tree)
        newest = tree.inspections.exclude(ratings=None).order_by("-inspected_at", "-uid").first()
        assert sum(ratings["tree_id"] == tree.pk) == (newest.ratings.count() if newest else 0)


def test_a_second_pass_writes_nothing() -> None:
    trees = city_of([[make.rated("high")], [make.rated("low")], []])
    restate.restate([tree.pk for tree in trees])
    assert restate.restate_all().written == restate.restate_all().written == 0
    assert restate.restate_all().read == 3


def test_blocks_give_the_same_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    city_of([[make.rated(risk)] for risk in ("high", "low", "moderate", "low", "high")] + [[], []])
    restate.restate_all()
    whole = rows()
    Priority.objects.all().delete()
    monkeypatch.setattr(restate, "BLOCK", 2)
    steps: list[tuple[int, int | None]] = []
    done = restate.restate_all(lambda count, total, step: steps.append((count, total)))
    assert rows() == whole
    assert (done.added, steps[-1]) == (7, (7, 7))
    assert len(steps) == 4


def test_only_standing_trees_have_a_priority() -> None:
    alive, dead, gone = city_of([[], [], [make.rated("high")]])
    with SERVICE.acting("it died"):
        Tree.objects.filter(pk=dead.pk).update(state="dead")
    remove_tree(SERVICE, gone, on=make.TODAY, reason="felled", stump_ground=False)
    done = restate.restate_all()
    assert done.dropped == 1
    assert list(Priority.objects.order_by("tree").values_list("tree", flat=True)) == [alive.pk, dead.pk]


def test_only_changes_of_class_or_date_are_noted() -> None:
    (tree,) = city_of([[]])
    restate.restate([tree.pk])
    assert not PriorityChange.objects.exists()
    make.inspected(tree, make.rated("moderate", date(2026, 5, 1)))
    make.inspected(tree, make.rated("high", date(2026, 6, 1)))
    restate.restate_all()
    changes = list(PriorityChange.objects.order_by("pk").values_list("risk_before", "risk", "act_by"))
    assert changes == [(0, 2, None), (2, 3, date(2026, 7, 1))]


def test_a_mark_is_done_once_and_gone() -> None:
    one, other = city_of([[make.rated("high")], []])
    Priority.objects.all().delete()
    services.mark_trees([one.pk, one.pk])
    assert restate.restate_marked().added == 1
    assert not Mark.objects.exists()
    services.mark("all")
    assert restate.restate_marked().added == 1
    assert not Mark.objects.exists()
    assert restate.restate_marked() == restate.Restated()
    assert Priority.objects.filter(tree=other).exists()


def test_a_mark_of_a_zone_recomputes_its_trees_alone() -> None:
    zone = build.zone(half_m=100.0)
    inside, outside = build.tree(0), build.tree(500)
    services.mark("zone", zone.pk)
    assert restate.restate_marked().read == 1
    assert list(Priority.objects.values_list("tree", flat=True)) == [inside.pk]
    assert outside.zone_id is None
    assert not Mark.objects.exists()


def test_a_new_policy_asks_for_everything_and_changes_the_dates() -> None:
    (tree,) = city_of([[make.rated("high", date(2026, 5, 1))]])
    assert Priority.objects.get(tree=tree).act_by == date(2026, 5, 31)
    data = json.loads(methods.default_policy_text())
    data["act_by_days"]["high"] = 14
    policy = services.adopt_policy(SERVICE, data, "faster for high risk")
    assert list(Mark.objects.values_list("scope", flat=True)) == ["all"]
    restate.restate_marked()
    row = Priority.objects.get(tree=tree)
    assert (row.act_by, row.policy_version) == (date(2026, 5, 15), policy.version)


def test_every_update_of_a_pass_stays_in_its_page() -> None:
    trees = city_of([[make.rated("high", date(2026, 5, 1))]] * 1 + [[] for _ in range(40)])
    restate.restate_all()
    services.install_default_policy()
    done = restate.restate_marked()
    assert done.written == len(trees)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_stat_get_xact_tuples_updated(%s::regclass), pg_stat_get_xact_tuples_hot_updated(%s::regclass)",
            ["priority", "priority"],
        )
        updated, hot = cursor.fetchone()
    assert hot == updated >= done.written
