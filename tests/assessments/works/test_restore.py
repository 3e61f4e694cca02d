"""A tree that was reported felled but stands: the inventory has it stand again, so that somebody looks at it."""

import pytest

from assessments.models import Priority
from inventory import services
from inventory.history import SERVICE
from inventory.models import Site, Tree
from inventory.problems import Conflict, Invalid
from tests.support import build, orders

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _city(city: object) -> None:
    """Orders need the municipality."""


def test_a_returned_felling_of_a_tree_that_stands_brings_it_back_into_the_due_work() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    orders.report(crew, item)
    tree = Tree.objects.get(pk=item.tree_id)
    assert tree.state == "stump"
    orders.judge(item, "returned", tree_stands=True)
    tree.refresh_from_db()
    assert (tree.state, tree.removed_on, tree.removal_reason) == ("alive", None, "")
    assert Site.objects.get(pk=tree.site_id or 0).state == "planted"
    assert Priority.objects.filter(tree_id=tree.pk).exists()
    assert tree.required_checks.filter(closed_on=None, source="order").count() == 1


def test_felled_at_last_it_is_recorded_again() -> None:
    crew = orders.crew()
    item = orders.item(crew)
    orders.report(crew, item)
    orders.judge(item, "returned", tree_stands=True)
    orders.report(crew, item, hours=6)
    assert Tree.objects.get(pk=item.tree_id).state == "stump"
    orders.judge(item, hours=8)
    assert orders.state(item) == "verified"


def test_a_dead_tree_stands_again_as_a_dead_one() -> None:
    tree = build.tree(state="dead")
    services.remove_tree(SERVICE, tree, on=orders.DAY, reason="said so", stump_ground=True)
    assert services.restore_tree(SERVICE, tree, why="it stands").state == "dead"
    with pytest.raises(Conflict, match="dead"):
        services.restore_tree(SERVICE, tree, why="again")


def test_it_cannot_stand_where_another_tree_was_planted_since() -> None:
    tree = build.tree()
    services.remove_tree(SERVICE, tree, on=orders.DAY, reason="said so", stump_ground=True)
    site = Site.objects.get(pk=tree.site_id or 0)
    services.add_tree(SERVICE, location=site.location, site=site)
    with pytest.raises(Conflict, match="another tree"):
        services.restore_tree(SERVICE, tree, why="it stands")


@pytest.mark.parametrize(("action", "verdict"), [("remove", "accepted"), ("clean_crown", "returned")])
def test_it_is_said_of_a_returned_felling_only(action: str, verdict: str) -> None:
    crew = orders.crew()
    item = orders.item(crew, action)
    orders.report(crew, item)
    with pytest.raises(Invalid) as refused:
        orders.judge(item, verdict, tree_stands=True)
    assert refused.value.errors[0].pointer == "#/tree_stands"
