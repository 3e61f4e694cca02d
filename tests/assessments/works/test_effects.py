"""Reported work changes the inventory in the same transaction, once."""

from datetime import timedelta

import pytest

from assessments.models import Priority, RequiredCheck
from assessments.works import states
from inventory.models import Event, Support, Tree
from tests.support import build, inspections, orders

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_a_felled_tree_leaves_a_stump_and_a_vacant_site_until_the_stump_is_ground_out() -> None:
    crew = orders.crew()
    tree = build.tree()
    inspections.inspected(tree, inspections.rated("high", orders.DAY - timedelta(days=3)))
    assert Priority.objects.filter(tree=tree).exists()
    item = orders.item(crew, "remove", tree)
    orders.report(crew, item)
    tree.refresh_from_db()
    assert (tree.state, tree.removed_on, tree.site.state) == ("stump", orders.DAY, "vacant")
    assert not Priority.objects.filter(tree=tree).exists()
    grinding = orders.item(crew, "grind_stump", tree)
    orders.report(crew, grinding, hours=1)
    tree.refresh_from_db()
    assert (tree.state, tree.site.state) == ("removed", "vacant")
    kinds = [event.kind for event in Event.objects.filter(tree=tree).order_by("id")]
    assert kinds.index("tree.removed") < kinds.index("stump.ground")


def test_felling_and_grinding_can_be_reported_at_once() -> None:
    crew = orders.crew()
    tree = build.tree()
    orders.report(crew, orders.item(crew, "remove", tree), stump_ground=True)
    tree.refresh_from_db()
    assert tree.state == "removed"


def test_a_second_report_that_tells_of_the_stump_grinds_it() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    orders.report(crew, item)
    orders.report(crew, item, hours=1, stump_ground=True)
    tree.refresh_from_db()
    item.refresh_from_db()
    assert (tree.state, item.state, item.effect) == ("removed", "done", "tree removed, stump ground out")


def test_two_reports_of_one_support_record_one_support() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "install_support", tree)
    orders.report(crew, item, support_kind="cable", support_height_m=8.5)
    orders.report(crew, item, hours=1, support_kind="cable", support_height_m=8.5)
    support = Support.objects.get(tree=tree)
    assert (support.kind, support.height_m, support.installed_on) == ("cable", 8.5, orders.DAY)
    checks = RequiredCheck.objects.filter(tree=tree).order_by("due_on")
    assert [(check.kind, check.due_on) for check in checks] == [
        ("after_work", orders.DAY + timedelta(days=30)),
        ("support", orders.DAY + timedelta(days=365)),
    ]


def test_the_check_after_the_work_gives_the_tree_its_next_date() -> None:
    crew = orders.crew()
    tree = build.tree()
    inspections.inspected(tree, inspections.rated("low", orders.DAY - timedelta(days=3)))
    later = Priority.objects.get(tree=tree).inspect_by
    orders.report(crew, orders.item(crew, "make_safe", tree))
    due = Priority.objects.get(tree=tree).inspect_by
    assert due == orders.DAY + timedelta(days=7)
    assert later is not None
    assert due < later


def test_work_that_was_ordered_for_a_finding_is_looked_at_and_routine_work_is_not() -> None:
    assert states.checks_after("raise_crown", for_a_finding=False) == ()
    assert states.checks_after("raise_crown", for_a_finding=True) == (("after_work", 30),)
    assert states.checks_after("remove", for_a_finding=True) == ()


def test_a_planted_tree_takes_the_vacant_site() -> None:
    crew = orders.crew()
    tree = build.tree()
    build.species("Quercus robur", family="Fagaceae")
    orders.report(crew, orders.item(crew, "remove", tree), stump_ground=True)
    planting = orders.item(crew, "plant", tree)
    orders.report(crew, planting, hours=2, species="Quercus robur")
    orders.report(crew, planting, hours=3, species="Quercus robur")
    young = Tree.objects.get(site=tree.site, state="alive")
    assert young.species is not None
    assert (young.species.botanical_name, young.planted_from) == ("Quercus robur", orders.DAY)
    assert young.site is not None
    assert young.site.state == "planted"
    assert Priority.objects.filter(tree=young).exists()


def test_a_site_that_is_taken_already_makes_the_planting_a_variation() -> None:
    crew = orders.crew()
    tree = build.tree()
    build.species("Quercus robur", family="Fagaceae")
    orders.report(crew, orders.item(crew, "remove", tree), stump_ground=True)
    one, other = orders.item(crew, "plant", tree), orders.item(crew, "plant", tree)
    orders.report(crew, one, hours=2, species="Quercus robur")
    assert "not vacant" in orders.report(crew, other, hours=2, species="Quercus robur").disputed
    assert orders.state(other) == "variation"
    assert Tree.objects.filter(site=tree.site, state="alive").count() == 1


def test_not_possible_changes_nothing_of_the_tree() -> None:
    crew = orders.crew()
    tree = build.tree()
    item = orders.item(crew, "remove", tree)
    orders.report(crew, item, "not_possible")
    tree.refresh_from_db()
    item.refresh_from_db()
    assert (tree.state, item.effect, item.state) == ("alive", "", "not_possible")
