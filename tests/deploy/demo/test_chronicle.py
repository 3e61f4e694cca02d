"""The three years as a plan: the same every time, possible in every detail, and with something of everything."""

import hashlib
import os
import subprocess
import sys
from collections import Counter
from datetime import date, timedelta

import pytest

from assessments import rules, suggestions
from assessments.methods.catalogue import KINDS
from assessments.records import part_uid
from deploy.demo import city, days, rounds, story
from deploy.demo.city import City
from deploy.demo.looks import Look
from deploy.demo.orders import OrderPlan
from tests.deploy.demo.conftest import REFERENCE

_DIGEST = """
import django; django.setup()
from tests.deploy.demo.test_chronicle import digest
from tests.deploy.demo.conftest import REFERENCE
from deploy.demo import city
print(digest(city.invent(REFERENCE)))
"""


def digest(invented: City) -> str:
    """A fingerprint of the whole plan."""
    told = (invented.spots, invented.trees, invented.chronicle.chapters, sorted(invented.chronicle.felled.items()))
    return hashlib.sha256(repr(told).encode()).hexdigest()


def looks(invented: City) -> list[Look]:
    """All looks, those of emergencies too."""
    found = []
    for chapter in invented.chronicle.chapters:
        if chapter.order and chapter.order.cause:
            found.append(chapter.order.cause)
        found += chapter.looks
    return found


def orders(invented: City) -> list[OrderPlan]:
    """All orders of the chronicle."""
    return [chapter.order for chapter in invented.chronicle.chapters if chapter.order]


def test_another_process_invents_the_same_city(harrowmere: City) -> None:
    env = os.environ | {"PYTHONHASHSEED": "4711", "DJANGO_SETTINGS_MODULE": "tests.settings"}
    done = subprocess.run([sys.executable, "-c", _DIGEST], env=env, check=True, capture_output=True, text=True)
    assert done.stdout.strip() == digest(harrowmere)


def test_every_record_keeps_the_rules_of_inspections(harrowmere: City) -> None:
    for look in looks(harrowmere):
        facts = harrowmere.chronicle.cases[look.tag].facts
        assert rules.problems(look.record, facts, look.on, REFERENCE) == [], look.tag
        suggested = suggestions.suggest(look.record, facts)
        assert list(suggestions.undecided(look.record, suggested)) == [], look.tag


def test_a_basic_look_rates_and_a_limited_one_does_not(harrowmere: City) -> None:
    levels: Counter[str] = Counter()
    for look in looks(harrowmere):
        levels[look.record.level] += 1
        assert bool(look.record.ratings) == (look.record.level != "limited_visual")
    assert levels["basic"] > 5_000
    assert levels["limited_visual"] > 2_000
    assert levels["advanced"] >= 5


def test_a_tree_is_looked_at_while_it_stands_and_in_order_of_time(harrowmere: City) -> None:
    trees = {tree.tag: tree for tree in harrowmere.trees}
    last: dict[str, date] = {}
    for look in sorted(looks(harrowmere), key=lambda one: one.record.inspected_at):
        tree, gone = trees[look.tag], harrowmere.chronicle.felled.get(look.tag)
        assert days.taken_over(REFERENCE) < look.on < REFERENCE
        assert tree.planted_to is None or tree.planted_to < look.on
        assert tree.removed_on is None or look.on < tree.removed_on
        assert gone is None or look.on < gone
        assert look.on >= last.get(look.tag, look.on)
        last[look.tag] = look.on


def test_a_finding_continues_an_earlier_one_of_its_kind_on_its_tree(harrowmere: City) -> None:
    seen: dict[object, tuple[str, str]] = {}
    continued = 0
    for look in sorted(looks(harrowmere), key=lambda one: one.record.inspected_at):
        for finding in look.record.findings:
            if finding.continues:
                continued += 1
                assert seen[finding.continues] == (look.tag, finding.kind)
        for place, finding in enumerate(look.record.findings):
            seen[part_uid(look.record, "finding", place, None)] = (look.tag, finding.kind)
    assert continued > 1_000


def test_every_kind_of_finding_occurs(harrowmere: City) -> None:
    kinds = Counter(finding.kind for look in looks(harrowmere) for finding in look.record.findings)
    assert set(kinds) == set(KINDS)


def test_most_risks_are_low_dozens_moderate_few_high_and_one_extreme(harrowmere: City) -> None:
    newest = {look.tag: look.worst for look in sorted(looks(harrowmere), key=lambda one: one.on) if look.worst}
    gone = set(harrowmere.chronicle.felled) | {tree.tag for tree in harrowmere.trees if tree.removed_on}
    now = Counter(risk for tag, risk in newest.items() if tag not in gone)
    never = [tree.tag for tree in harrowmere.trees if tree.tag not in newest and tree.tag not in gone]
    assert now["low"] > 4_000
    assert 36 <= now["moderate"] <= 200
    assert 1 <= now["high"] <= 6
    assert now["extreme"] == 1
    assert 300 < len(never) < 2_000


def test_the_extreme_risk_is_the_poplar_at_the_school(harrowmere: City) -> None:
    extreme = [look for look in looks(harrowmere) if look.worst == "extreme"]
    assert [look.tag for look in extreme] == [story.POPLAR]
    assert extreme[0].record.actions is not None
    assert extreme[0].on == REFERENCE - timedelta(days=1)


def test_an_emergency_has_its_order_and_nothing_else_has_one(harrowmere: City) -> None:
    caused = [order.cause for order in orders(harrowmere) if order.cause]
    assert len(caused) == 5
    emergencies = [look for look in looks(harrowmere) if rules.emergency_cause(look.record)]
    assert emergencies == caused


def test_orders_are_in_every_state_of_progress(harrowmere: City) -> None:
    placed = orders(harrowmere)
    assert {order.step for order in placed} == {"draft", "issued", "accepted", "cancelled"}
    items = [item for order in placed for item in order.items]
    assert {item.verdict for item in items} >= {None, "accepted"}
    assert {item.action for item in items} >= {"remove", "remove_dead_wood", "reduce_crown", "install_support"}
    assert sum(item.worked_on is None for item in items) > 5
    for order in placed:
        for item in order.items:
            assert item.worked_on is None or order.placed <= item.worked_on < REFERENCE


@pytest.mark.parametrize("day", [date(2024, 2, 29), date(2026, 1, 1), date(2027, 11, 15)])
def test_the_city_can_be_invented_for_any_day(day: date) -> None:
    invented = city.invent(day)
    assert all(look.on < day for look in looks(invented))
    assert sum(order.cause is not None for order in orders(invented)) == 5
    for storm in rounds.storm_days(day):
        assert storm < day
