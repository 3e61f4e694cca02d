"""The drain: each piece of news is acted on once, in order, and one that cannot be is set aside for a person."""

from unittest.mock import patch

import pytest

from assessments import services as assessment_services
from assessments.models import Mark, Priority
from inventory import events, places
from inventory.history import SERVICE
from inventory.models import Event
from tests.support import build
from workers import drain
from workers.models import Reader, StuckEvent

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _policy(city: object) -> None:
    assessment_services.install_default_policy()
    Mark.objects.all().delete()


def test_a_new_tree_gets_its_priority() -> None:
    tree = build.tree()
    assert not Priority.objects.filter(tree=tree).exists()
    assert drain.drain() > 0
    assert Priority.objects.filter(tree=tree, risk=0).exists()
    assert drain.drain() == 0


@pytest.mark.parametrize("kind", ["intake.loaded", "intake.merged", "intake.undone"])
def test_a_load_a_merge_and_their_undoing_mark_every_tree(kind: str) -> None:
    events.record(SERVICE, kind, "intake_load")
    drain.drain()
    assert Mark.objects.filter(scope="all").count() == 1


def test_a_changed_zone_marks_its_trees_and_a_new_boundary_marks_all() -> None:
    zone = build.zone()
    places.edit_zone(SERVICE, zone, {"occupancy": "constant"}, version=1, why="a new school")
    drain.drain()
    assert list(Mark.objects.values_list("scope", "subject")) == [("zone", zone.pk)]
    places.edit_zone(SERVICE, zone, {"area": zone.area}, version=2, why="a new boundary")
    drain.drain()
    assert Mark.objects.filter(scope="all").exists()


def test_a_changed_site_marks_its_tree() -> None:
    tree, _ = build.tree(), build.tree(50)
    assert tree.site
    places.edit_site(SERVICE, tree.site, {"occupancy": "constant"}, version=tree.site.version, why="a bus stop")
    drain.drain()
    assert list(Mark.objects.values_list("scope", "subject")) == [("tree", tree.pk)]


def test_news_that_cannot_be_acted_on_is_set_aside_and_the_rest_goes_on() -> None:
    events.record(SERVICE, "intake.loaded", "intake_load")
    bad = events.record(SERVICE, "zone.edited", "zone", data={})
    events.record(SERVICE, "intake.undone", "intake_load")
    for _ in range(drain.GIVE_UP_AFTER):
        drain.drain()
    assert list(StuckEvent.objects.values_list("event", flat=True)) == [bad.pk]
    assert Mark.objects.filter(scope="all").count() == 2
    last = Event.objects.order_by("-position").values_list("position", flat=True)[0]
    assert Reader.objects.get(name=drain.READER).position == last


def test_a_batch_that_fails_is_undone_as_a_whole_before_it_is_tried_one_by_one() -> None:
    events.record(SERVICE, "intake.loaded", "intake_load")
    events.record(SERVICE, "zone.edited", "zone", data={})
    events.stamp()
    with patch.object(drain, "_one", return_value=0):
        drain.drain()
    assert Mark.objects.count() == 0
    assert Reader.objects.filter(name=drain.READER, position__gt=0).count() == 0
