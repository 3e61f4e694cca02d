"""The load: the plan in the tables, once, by the real services, and refused beside other trees."""

import io
import itertools
import json
from collections import Counter
from collections.abc import Iterator

import pytest
import pytest_django
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.models import Count, F, Q

from assessments import restate, services
from assessments.methods.policy import default_policy_text
from assessments.models import (
    Calibration,
    Decision,
    Dissection,
    Finding,
    Inspection,
    Policy,
    Priority,
    Rating,
    RequiredCheck,
    Section,
    StemLoad,
    TreeReport,
)
from assessments.works.models import ItemReport, OrderItem, WorkOrder
from deploy.demo import load, openings, story, weather
from deploy.demo.city import City
from deploy.demo.people import PEOPLE
from inventory.catalogue import load as catalogue
from inventory.history import SERVICE
from inventory.models import Site, Support, Tree, Zone
from inventory.people import roles
from inventory.people.models import User
from inventory.services import restate_sizes
from tests.deploy.demo.conftest import REFERENCE
from tests.deploy.demo.test_chronicle import looks
from tests.support import build

PASSWORD = "a password of the tests only"


@pytest.fixture(scope="module")
def loaded(django_db_setup: None, django_db_blocker: pytest_django.DjangoDbBlocker) -> Iterator[load.Loaded]:
    """The demo city in the test database, taken back after this file's tests."""
    with django_db_blocker.unblock(), transaction.atomic():
        build.municipality()
        catalogue.apply()
        services.install_default_policy()
        yield load.load(REFERENCE, PASSWORD)
        transaction.set_rollback(True)


def test_the_rows_are_those_of_the_plan(loaded: load.Loaded, harrowmere: City) -> None:
    planted_by_order = ItemReport.objects.filter(item__action="plant", outcome="done").count()
    assert loaded.fresh
    assert Zone.objects.count() == 10
    assert Tree.objects.count() == len(harrowmere.trees) + planted_by_order
    seen = [*looks(harrowmere), *(one.look for one in openings.plan(harrowmere))]
    assert Inspection.objects.count() == len(seen)
    assert Finding.objects.count() == sum(len(look.record.findings) for look in seen)
    assert set(Tree.objects.filter(tag__isnull=False).values_list("uid", flat=True)) == {
        tree.uid for tree in harrowmere.trees
    }


def test_a_second_load_changes_nothing(loaded: load.Loaded) -> None:
    before = _everything()
    again = load.load(REFERENCE, "another password")
    assert not again.fresh
    assert again.counts == loaded.counts
    assert _everything() == before


def _everything() -> list[int]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace")
        tables = sorted(row[0] for row in cursor.fetchall())
        counts = []
        for table in tables:
            cursor.execute(f'SELECT count(*) FROM "{table}"')
            counts.append(cursor.fetchone()[0])
    return counts


def test_every_tree_lies_in_its_zone(loaded: load.Loaded) -> None:
    assert not Tree.objects.exclude(zone__area__contains=F("location")).exists()
    assert not Site.objects.exclude(zone__area__contains=F("location")).exists()


def test_no_two_standing_stems_are_closer_than_a_metre_and_a_half(loaded: load.Loaded) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM tree a JOIN tree b ON a.id < b.id AND ST_DWithin(a.location_m, b.location_m, 1.5)"
            " WHERE a.state IN ('alive', 'dead') AND b.state IN ('alive', 'dead')"
        )
        assert cursor.fetchone()[0] == 0


def test_the_sizes_are_those_of_the_newest_measurements(loaded: load.Loaded) -> None:
    sizes = Tree.objects.order_by("pk").values_list("dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m")
    before = list(sizes)
    with transaction.atomic():
        restate_sizes(list(Tree.objects.values_list("pk", flat=True)))
    assert list(sizes) == before


def test_a_site_is_planted_while_a_tree_stands_on_it(loaded: load.Loaded) -> None:
    standing = Count("trees", filter=Q(trees__state__in=("alive", "dead")))
    for site in Site.objects.annotate(standing=standing):
        assert (site.state == "planted") == (site.standing == 1), site.pk


def test_a_tree_has_a_class_only_where_it_was_rated(loaded: load.Loaded) -> None:
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # inside this transaction no one else can
        restate.restate_all()
        rated = set(Rating.objects.values_list("inspection__tree_id", flat=True))
        classes = dict(Priority.objects.values_list("tree_id", "risk"))
        transaction.set_rollback(True)
    assert classes.keys() == set(Tree.objects.filter(state__in=("alive", "dead")).values_list("pk", flat=True))
    for tree, risk in classes.items():
        assert (risk > 0) == (tree in rated)
    assert Counter(classes.values())[4] == 1


def test_one_user_a_role_can_sign_in(loaded: load.Loaded) -> None:
    assert {person.role for person in PEOPLE} == set(roles.ROLES)
    for person in PEOPLE:
        user = authenticate(username=person.email, password=PASSWORD)
        assert isinstance(user, User)
        assert user.roles == {person.role}


def test_the_facts_are_attributed_to_the_people_of_the_demo(loaded: load.Loaded) -> None:
    people = set(User.objects.filter(email__endswith=".example").values_list("pk", flat=True))
    for table in ("tree_past", "inspection_past", "work_order_past", "item_report_past", "measurement_past"):
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT DISTINCT (c.metadata ->> 'user')::bigint FROM {table} p"
                " JOIN pghistory_context c ON c.id = p.pgh_context_id"
            )
            assert {row[0] for row in cursor.fetchall()} <= people, table


def test_orders_were_carried_out_by_the_real_services(loaded: load.Loaded) -> None:
    states = Counter(WorkOrder.objects.values_list("state", flat=True))
    assert states["closed"] >= 5
    assert {"draft", "issued", "accepted", "cancelled"} <= states.keys()
    assert not ItemReport.objects.exclude(disputed="").exists()
    felled = OrderItem.objects.filter(action="remove", state="verified")
    assert felled.count() >= 10
    assert set(felled.values_list("tree__state", flat=True)) == {"stump", "removed"}
    assert Support.objects.exists()


def test_the_open_emergency_has_an_order_at_its_contractor(loaded: load.Loaded) -> None:
    order = WorkOrder.objects.get(inspection__tree__tag=story.POPLAR)
    assert (order.state, order.emergency) == ("issued", True)
    assert order.contractor.name == "Larkrow Tree Works"
    assert order.paged_at is not None


def test_the_lime_was_measured_inside_its_cavity(loaded: load.Loaded) -> None:
    section = Section.objects.get(inspection__tree__tag=story.LIME)
    assert (section.inspection.tree.tag, section.inspection.level) == (story.LIME, "advanced")
    assert section.finding is not None
    assert (section.finding.kind, section.finding.height_m) == ("cavity", section.height_m)
    result = section.results.get().result
    # The wall that the finding states is the thinnest one drilled.
    assert result["thinnest_wall_cm"] == pytest.approx(section.finding.measures["shell_cm"], abs=0.5)
    loss = result["modulus"]["loss_percent"]
    assert (result["open"], loss["low"] < loss["best_estimate"] < loss["high"]) == (True, True)


def test_the_wind_load_of_the_lime_rests_on_what_was_measured_inside(loaded: load.Loaded) -> None:
    held = StemLoad.objects.get(inspection__tree__tag=story.LIME)
    assert (held.inspection.tree.tag, held.inspection.level) == (story.LIME, "advanced")
    assert {"species", "dbh_cm", "height_m"} <= set(held.filled["request"])
    result = held.results.get().result
    bases = {row["height_m"]: row["basis"] for row in result["sections"]}
    assert bases == {0.3: "sound", 1.4: "measured"}
    # The city has set its gusts: between the one-year and the 50-year gust the stem is suggested possible.
    climate = Policy.objects.get(version=2).data["wind"]["gust_climate"]
    assert result["likelihood"]["gust_climate"] == climate
    assert climate["one_year_m_s"] < result["critical_gust"]["best"] < climate["fifty_year_m_s"]
    assert result["likelihood"]["likelihood_of_failure"] == "possible"


def test_stems_checked_for_wind_are_rated_as_is_suggested(loaded: load.Loaded) -> None:
    rated = Rating.objects.filter(inspection__stem_load__isnull=False)
    tags = {story.LIME, story.KERB_LIME}
    assert set(rated.values_list("inspection__tree__tag", flat=True)) == tags
    assert not rated.exclude(failure=F("failure_suggested"), impact=F("impact_suggested")).exists()
    of_stems = rated.filter(part="stem")
    assert set(of_stems.values_list("inspection__tree__tag", flat=True)) == tags
    assert {one.suggestion["failure_basis"] for one in of_stems} == {"both"}


def test_a_city_that_has_set_its_wind_keeps_it(city: object) -> None:
    own = json.loads(default_policy_text()) | {"wind": {"check_gust_m_s": 41}}
    services.adopt_policy(SERVICE, own, "the wind of the city")
    weather.settle(SERVICE)
    assert Policy.objects.get().data["wind"] == {"check_gust_m_s": 41}


def test_the_roadside_lime_went_from_inspection_to_opened_stem(loaded: load.Loaded) -> None:
    tree = Tree.objects.get(tag=story.KERB_LIME)
    assert tree.state == "stump"
    assert TreeReport.objects.filter(inspection__tree=tree).count() == 1
    assert Decision.objects.get(tree=tree).option.kind == "remove_and_replant"
    opened = Dissection.objects.get(tree=tree)
    heights = sorted(opened.cuts.values_list("height_m", flat=True))
    assert [round(upper - lower, 2) for lower, upper in itertools.pairwise(heights)] == [0.15] * 7
    truth = opened.results.get(method="truth_against_judgement").result
    assert truth["threshold"]["verdict"] == "right_crossed"
    assert truth["summary"]["compared"] > 0
    assert tree.attachments.count() == 4


def test_sixty_other_stems_move_the_calibration(loaded: load.Loaded) -> None:
    others = Dissection.objects.exclude(tree__tag=story.KERB_LIME)
    reasons = Counter(others.values_list("reason", flat=True))
    assert (sum(reasons.values()), len(reasons)) == (60, 6)
    fitted = Calibration.objects.get()
    assert fitted.parameters["enough"]
    # Walls were made thinner than they were read: what was invented is found again.
    strata = {one["reason"]: one for one in fitted.parameters["strata"]}
    assert strata["predicted_weakness"]["mean_error"] < 0
    assert not strata["storm_failure"]["pooled"]


def test_one_kept_defect_is_kept_no_longer(loaded: load.Loaded) -> None:
    ends = Decision.objects.exclude(ends_on=None).values_list("ends_on", flat=True)
    assert len(ends) == 4
    assert sum(end is not None and end < REFERENCE for end in ends) == 1


def test_work_that_was_looked_at_leaves_no_check_open(loaded: load.Loaded) -> None:
    checks = RequiredCheck.objects.filter(kind="after_work")
    assert checks.filter(closed_on__isnull=False).count() > 20
    assert RequiredCheck.objects.filter(closed_on=None, tree__tag=story.OAK, kind="excavation").exists()


def test_the_demo_is_refused_beside_other_trees(city: object) -> None:
    build.species()
    build.tree()
    before = Tree.objects.count()
    with pytest.raises(CommandError, match="empty municipality"):
        call_command("demo", stdout=io.StringIO())
    assert Tree.objects.count() == before
    assert not User.objects.filter(email__endswith="@harrowmere.example").exists()


def test_the_users_are_listed_one_a_line(city: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DEMO_PASSWORD", "shown where it is set")
    out = io.StringIO()
    call_command("demo", "--users", stdout=out)
    lines = out.getvalue().splitlines()
    assert "shown where it is set" in lines[0]
    assert [line.split()[0] for line in lines[1 : 1 + len(PEOPLE)]] == [person.email for person in PEOPLE]
    assert story.KERB_LIME in lines[1 + len(PEOPLE)]
