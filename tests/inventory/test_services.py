"""The inventory's services: what a tree's life may go through."""

import uuid
from datetime import date

import pytest
from django.contrib.gis.geos import Point
from django.db import IntegrityError, transaction

from inventory import services
from inventory.history import SERVICE, Author
from inventory.models import Event, Measurement, Site, Tree
from inventory.problems import Conflict, Invalid, Stale
from tests.support import build

pytestmark = pytest.mark.django_db


def test_a_new_tree_stands_on_a_planted_site_in_the_smallest_zone() -> None:
    build.zone("WIDE", half_m=5000)
    small = build.zone("SMALL", half_m=500)
    tree = build.tree(east=10)
    assert tree.zone == small
    assert tree.site.state == "planted"
    assert tree.dbh_cm == 40.0


def test_the_metric_twin_measures_metres() -> None:
    first, second = build.tree(), build.tree(north=100)
    assert first.location_m.distance(second.location_m) == pytest.approx(100, rel=0.005)


def test_a_site_holds_one_standing_tree_at_a_time() -> None:
    tree = build.tree()
    with pytest.raises(Conflict, match="planted"):
        services.add_tree(SERVICE, location=tree.location, site=tree.site)
    with pytest.raises(IntegrityError), transaction.atomic(), SERVICE.acting("by hand"):
        Tree.objects.create(location=tree.location, site=tree.site)


def test_a_felled_tree_leaves_a_stump_and_a_vacant_site_until_it_is_ground_out() -> None:
    tree = build.tree()
    felled = services.remove_tree(SERVICE, tree, on=date(2026, 3, 1), reason="decay", stump_ground=False)
    assert (felled.state, felled.removed_on) == ("stump", date(2026, 3, 1))
    assert Site.objects.get(pk=tree.site_id).state == "vacant"
    assert services.grind_stump(SERVICE, felled).state == "removed"
    with pytest.raises(Conflict, match="no stump"):
        services.grind_stump(SERVICE, felled)
    with pytest.raises(Conflict, match="removed already"):
        services.remove_tree(SERVICE, tree, on=date(2026, 3, 2), reason="again", stump_ground=True)


def test_a_vacant_site_is_planted_again_and_the_removed_tree_keeps_its_history() -> None:
    tree = build.tree()
    services.remove_tree(SERVICE, tree, on=date(2026, 3, 1), reason="decay", stump_ground=True)
    site = Site.objects.get(pk=tree.site_id)
    young = services.add_tree(SERVICE, location=site.location, site=site)
    assert young.site_id == tree.site_id
    assert list(site.trees.order_by("pk").values_list("state", flat=True)) == ["removed", "alive"]


def test_an_edit_of_a_version_that_was_changed_since_changes_nothing() -> None:
    tree = build.tree()
    services.edit_tree(SERVICE, tree, {"note": "first"}, version=tree.version, why="desk")
    with pytest.raises(Stale):
        services.edit_tree(SERVICE, tree, {"note": "second"}, version=tree.version, why="desk")
    tree.refresh_from_db()
    assert tree.note == "first"


@pytest.mark.parametrize("changes", [{"dbh_cm": 3}, {"state": "removed"}, {"site_id": 1}])
def test_what_a_desk_may_not_edit_is_refused_by_name(changes: dict[str, object]) -> None:
    tree = build.tree()
    with pytest.raises(Invalid) as refused:
        services.edit_tree(SERVICE, tree, changes, version=tree.version, why="desk")
    assert refused.value.errors[0].pointer == f"#/{next(iter(changes))}"


def test_the_size_follows_the_newest_measurement_whatever_order_they_arrive_in() -> None:
    tree = build.tree(dbh_cm=None)
    for year, dbh_cm in ((2022, 41.0), (2024, 44.0), (2020, 38.0)):
        size = services.Size(measured_on=date(year, 6, 1), method="tape", dbh_cm=dbh_cm)
        services.measure(SERVICE, tree, size)
    services.measure(SERVICE, tree, services.Size(measured_on=date(2025, 1, 1), method="laser", height_m=17.0))
    tree.refresh_from_db()
    assert (tree.dbh_cm, tree.height_m) == (44.0, 17.0)


def test_several_stems_count_as_their_quadratic_sum() -> None:
    # Quadratic sum of stem diameters, BS 5837:2012 (as quoted in secondary sources): 300, 250, 200 mm -> 438.75 mm.
    tree = build.tree(dbh_cm=None)
    size = services.Size(measured_on=date(2024, 6, 1), method="tape", stems_cm=(30.0, 25.0, 20.0))
    assert services.measure(SERVICE, tree, size).dbh_cm == pytest.approx(43.875, rel=1e-4)


def test_two_trees_cannot_have_one_tag() -> None:
    build.tree(tag="A1")
    with pytest.raises(Conflict, match="tag"), transaction.atomic():
        build.tree(tag="A1")


def test_each_write_tells_its_news_with_author_and_request() -> None:
    person = build.user()
    tree = build.tree()
    author = Author(person.pk, "request-7")
    services.measure(author, tree, services.Size(measured_on=date(2024, 6, 1), method="tape", dbh_cm=50))
    news = Event.objects.get(kind="tree.measured", actor=person)
    assert (news.tree_id, news.request) == (tree.pk, "request-7")


@pytest.mark.parametrize(
    "fields",
    [
        {"dbh_cm": -1},
        {"dbh_cm": 5000},
        {"dbh_low_cm": 30, "dbh_high_cm": 20},
        {"height_m": 500},
        {"height_m": 5, "crown_base_m": 9},
        {},
        {"dbh_cm": 10, "method": "guess"},
    ],
)
def test_the_database_refuses_impossible_measurements(fields: dict[str, object]) -> None:
    tree = build.tree(dbh_cm=None)
    row = {"measured_on": date(2024, 1, 1), "method": "tape", "uid": uuid.uuid4()} | fields
    with pytest.raises(IntegrityError), transaction.atomic(), SERVICE.acting("by hand"):
        Measurement.objects.create(tree=tree, **row)


def test_a_tree_that_is_gone_has_a_day_and_one_that_stands_has_none() -> None:
    place = Point(build.LON, build.LAT, srid=4326)
    for fields in ({"state": "stump"}, {"state": "alive", "removed_on": date(2026, 1, 1)}):
        with pytest.raises(IntegrityError), transaction.atomic(), SERVICE.acting("by hand"):
            Tree.objects.create(location=place, **fields)


@pytest.mark.parametrize(
    ("lon", "lat"),
    [(0.0, 90.0), (0.0, 0.0), (build.LAT, build.LON), (180.0, 10.0)],
    ids=["pole", "zero", "swapped", "far"],
)
def test_a_tree_where_the_metric_system_is_not_valid_is_refused(lon: float, lat: float) -> None:
    with pytest.raises(Invalid) as caught:
        services.add_tree(SERVICE, location=Point(lon, lat, srid=4326))
    assert [error.pointer for error in caught.value.errors] == ["#/location"]
    assert not Tree.objects.exists()
    assert not Site.objects.exists()


def test_a_tree_far_from_its_site_is_refused() -> None:
    tree = build.tree()
    services.remove_tree(SERVICE, tree, on=date(2026, 3, 1), reason="decay", stump_ground=True)
    site = Site.objects.get(pk=tree.site_id)
    with pytest.raises(Invalid, match="from its site"):
        services.add_tree(SERVICE, location=Point(build.LON, build.LAT + 0.01, srid=4326), site=site)
    assert Site.objects.get(pk=tree.site_id).state == "vacant"
