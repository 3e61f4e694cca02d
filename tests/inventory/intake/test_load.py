"""Loads: all or nothing, attributed, the same twice; sizes and zones as the services would write them."""

import uuid
from datetime import date
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from inventory import events, services
from inventory.history import SERVICE, Author
from inventory.intake import load as loading
from inventory.intake import mapping as mappings
from inventory.intake import rows as writing
from inventory.intake.progress import Cancelled
from inventory.intake.undo import _relations, builds_on, undo
from inventory.models import Event, IntakeLoad, IntakeVerdict, Measurement, Site, Tree
from inventory.models.municipality import Municipality
from inventory.problems import Conflict, Invalid, Missing
from tests.support import build, intake
from tests.support.intake import species as species

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
ROWS = [
    intake.row(1),
    intake.row(2, species="Platanus acerifolia", dbh="0", height=""),
    intake.row(3, species="Arbor ignota", planted="1998"),
    intake.row(4, lat=""),
    intake.row(5, species="Vacant site", dbh=""),
    intake.row(6, species="Stump", dbh="12"),
    intake.row(7, address='Back\\slash\t"Lane"', dbh="", height=""),
]


def load(folder: Path, rows: list[list[str]] = ROWS, **options: object) -> loading.Outcome:
    return loading.load(SERVICE, intake.source(folder, rows), intake.mapping(), **options)  # type: ignore[arg-type]


def numbers() -> dict[str, int]:
    """How many rows every table that a load may touch has."""
    tables = ("site", "tree", "measurement", "site_past", "tree_past", "measurement_past", "intake_load")
    with connection.cursor() as cursor:
        found = {}
        for table in (*tables, "intake_verdict", "event"):
            cursor.execute(f"SELECT count(*) FROM {table}")
            found[table] = cursor.fetchone()[0]
    return found


def test_each_row_becomes_what_it_is(tmp_path: Path) -> None:
    outcome = load(tmp_path)
    assert not outcome.already
    trees = {tree.external_key: tree for tree in Tree.objects.select_related("site", "species")}
    assert set(trees) == {"T1", "T2", "T3", "T6", "T7"}
    first = trees["T1"]
    assert first.species
    assert first.species.botanical_name == "Tilia cordata"
    assert first.dbh_cm == pytest.approx(25.4)
    assert first.height_m == pytest.approx(9.144)
    assert first.planted_from
    assert first.planted_from.isoformat() == "1999-04-01"
    assert first.site
    assert (first.site.street, first.site.house_number) == ("Mill Lane", "1")
    assert (first.site.growing_space, first.site.state) == ("cutout", "planted")
    assert first.location.coords == pytest.approx((build.LON + 20 / 78_850, build.LAT), abs=1e-6)
    assert trees["T2"].dbh_cm is None
    assert trees["T2"].species
    assert trees["T2"].species.genus == "Platanus"
    assert trees["T3"].species is None
    assert trees["T3"].species_text == "Arbor ignota"
    assert [str(trees["T3"].planted_from), str(trees["T3"].planted_to)] == ["1998-01-01", "1998-12-31"]
    assert trees["T7"].site
    assert trees["T7"].site.street == 'Back\\slash "Lane"'
    assert (trees["T6"].state, trees["T6"].dbh_cm) == ("stump", None)
    assert trees["T6"].site
    assert trees["T6"].site.state == "vacant"
    vacant = Site.objects.get(external_key="T5")
    assert (vacant.state, vacant.trees.count()) == ("vacant", 0)


def test_refused_and_warned_rows_keep_their_reasons_and_cells(tmp_path: Path) -> None:
    made = load(tmp_path).load
    kept = {row.line: row for row in IntakeVerdict.objects.filter(load=made)}
    assert {line: (row.verdict, row.reasons) for line, row in kept.items()} == {
        3: ("warned", ["dbh_zero", "synonym"]),
        4: ("warned", ["species_unmatched"]),
        5: ("refused", ["no_coordinates"]),
        7: ("warned", ["stump"]),
    }
    assert kept[5].cells == dict(zip(intake.HEADING, ROWS[3], strict=True))
    assert all(len(row.reasons) == len(row.details) for row in kept.values())
    assert (made.counts["trees"], made.counts["vacant_sites"], made.counts["refused"]) == (5, 1, 1)


def test_the_sizes_of_the_trees_are_those_of_their_measurements(tmp_path: Path) -> None:
    load(tmp_path)
    before = list(Tree.objects.order_by("id").values("id", "dbh_cm", "height_m", "crown_m", "version"))
    assert [row["dbh_cm"] for row in before] != [None] * len(before)
    with SERVICE.acting("compare"):
        services.restate_sizes([row["id"] for row in before])
    assert list(Tree.objects.order_by("id").values("id", "dbh_cm", "height_m", "crown_m", "version")) == before


def test_zones_are_those_that_the_service_would_assign(tmp_path: Path) -> None:
    build.zone("wide", 1000)
    near = build.zone("near", 90)
    load(tmp_path, [intake.row(number) for number in range(1, 9)])
    assert Tree.objects.filter(zone=near).count() == 4  # 20 m to 80 m east of the middle
    before = list(Tree.objects.order_by("id").values("id", "zone", "version"))
    with SERVICE.acting("compare"):
        services.place([row["id"] for row in before])
    assert list(Tree.objects.order_by("id").values("id", "zone", "version")) == before


def test_history_says_who_loaded_what(tmp_path: Path) -> None:
    person = build.user()
    source = intake.source(tmp_path, ROWS)
    loading.load(Author(person.pk, "request-7"), source, intake.mapping())
    for table, count in (("site_past", 6), ("tree_past", 5), ("measurement_past", 2)):
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT p.pgh_label, (c.metadata->>'user')::bigint, c.metadata->>'why', c.metadata->>'request',"
                f" count(*) FROM {table} p JOIN pghistory_context c ON c.id = p.pgh_context_id GROUP BY 1, 2, 3, 4"
            )
            assert cursor.fetchall() == [("insert", person.pk, "intake of trees.csv", "request-7", count)]
    event = Event.objects.get(kind="intake.loaded")
    assert (event.actor_id, event.data["counts"]["trees"]) == (person.pk, 5)


def test_the_same_file_twice_changes_nothing(tmp_path: Path) -> None:
    first = load(tmp_path)
    before = numbers()
    second = load(tmp_path)
    assert second.already
    assert second.load.uid == first.load.uid
    assert numbers() == before


def test_the_same_file_under_another_mapping_is_refused(tmp_path: Path) -> None:
    load(tmp_path)
    before = numbers()
    other = mappings.parse(intake.MAPPING.replace('unit = "in"', 'unit = "cm"'))
    with pytest.raises(Conflict, match="another mapping"):
        loading.load(SERVICE, intake.source(tmp_path, ROWS), other)
    assert numbers() == before


def test_a_later_file_finds_its_trees_by_key(tmp_path: Path) -> None:
    load(tmp_path)
    later = [ROWS[0], ROWS[4], ROWS[5], intake.row(2, dbh="14"), intake.row(9)]
    outcome = load(tmp_path, later)
    assert (outcome.load.counts["same"], outcome.load.counts["trees"], outcome.load.counts["refused"]) == (3, 1, 1)
    assert Tree.objects.filter(external_key="T9").count() == 1
    refused = IntakeVerdict.objects.get(load=outcome.load, verdict="refused")
    assert (refused.line, refused.reasons[0]) == (5, "other_values")
    assert Tree.objects.get(external_key="T2").dbh_cm is None


def test_stop_loads_nothing_where_a_row_is_refused(tmp_path: Path) -> None:
    before = numbers()
    with pytest.raises(Invalid, match="1 rows are refused"):
        load(tmp_path, refused="stop")
    assert numbers() == before


@pytest.mark.parametrize("broken", ["_measurements", "_ids"])
def test_a_failure_on_the_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str) -> None:
    before = numbers()

    def fail(*args: object) -> None:
        raise RuntimeError("the lights went out")

    monkeypatch.setattr(writing._Writer, broken, fail)
    with pytest.raises(RuntimeError):
        load(tmp_path)
    assert numbers() == before


@pytest.mark.parametrize("at", ["reading", "checking", "loading", "keeping verdicts"])
def test_a_cancelled_load_leaves_nothing(tmp_path: Path, at: str) -> None:
    before = numbers()

    def stop(done: int, total: int | None, step: str) -> None:
        if step == at:
            raise Cancelled

    with pytest.raises(Cancelled):
        load(tmp_path, progress=stop)
    assert numbers() == before


def test_progress_tells_the_steps_in_order(tmp_path: Path) -> None:
    steps: list[str] = []
    load(tmp_path, progress=lambda done, total, step: steps.append(step))
    assert list(dict.fromkeys(steps)) == ["reading", "checking", "loading", "keeping verdicts"]


def test_blocks_of_any_size_give_the_same_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def told() -> list[tuple[object, ...]]:
        return sorted(Tree.objects.values_list("external_key", "site__street", "dbh_cm", "height_m", "state"))

    made = load(tmp_path).load
    whole = told()
    undo(SERVICE, made.uid)
    monkeypatch.setattr(writing, "BLOCK_ROWS", 2)
    load(tmp_path)
    assert told() == whole


def test_a_file_of_which_every_row_is_refused_is_a_problem(tmp_path: Path) -> None:
    before = numbers()
    metres = [intake.row(number, lat="4983000", lon="-3283000") for number in range(1, 4)]
    with pytest.raises(Invalid, match=r"every row is refused .coordinates that are no place: 3"):
        load(tmp_path, metres)
    with pytest.raises(Invalid, match="no rows"):
        load(tmp_path, [])
    assert numbers() == before


def test_a_file_outside_the_metric_system_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    before = numbers()
    far = [intake.row(number, lat="37.77", lon=str(-122.41 - number / 1000)) for number in range(1, 5)]
    with pytest.raises(Invalid, match=rf"EPSG:{settings.METRIC_SRID} is not valid .*EPSG:32610 would fit"):
        load(tmp_path, far)
    assert numbers() == before


def test_without_the_catalogue_nothing_is_loaded(tmp_path: Path, city: Municipality) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM species_name; DELETE FROM species")
    with pytest.raises(Conflict, match=r"manage\.py reference"):
        load(tmp_path)


def test_undo_takes_the_trees_back_and_keeps_the_load(tmp_path: Path) -> None:
    kept = build.tree(500, 500)
    made = load(tmp_path).load
    person = build.user()
    undone = undo(Author(person.pk), made.uid)
    assert (undone.state, undone.undone_by_id) == ("undone", person.pk)
    assert undone.undone_at is not None
    assert list(Tree.objects.values_list("pk", flat=True)) == [kept.pk]
    assert Site.objects.filter(intake_load=made).count() == Measurement.objects.filter(intake_load=made).count() == 0
    assert IntakeVerdict.objects.filter(load=made).count() == 4
    assert Event.objects.get(kind="intake.undone").subject_uid == made.uid
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM tree_past WHERE pgh_label = 'delete'")
        assert cursor.fetchone()[0] == 5
    with pytest.raises(Conflict, match="undone already"):
        undo(SERVICE, made.uid)
    assert not load(tmp_path).already


def test_undo_of_what_is_not_there_is_missing() -> None:
    with pytest.raises(Missing):
        undo(SERVICE, uuid.uuid4())


def edited(tree: Tree) -> None:
    services.edit_tree(SERVICE, tree, {"note": "seen"}, version=tree.version, why="looked")


def measured(tree: Tree) -> None:
    size = services.Size(measured_on=date(2026, 5, 1), method="tape", dbh_cm=26.0)
    services.measure(SERVICE, tree, size)


def supported(tree: Tree) -> None:
    services.install_support(SERVICE, tree, kind="cable", height_m=4.0, on=date(2026, 5, 1))


@pytest.mark.parametrize(
    ("build_on", "told"), [(edited, "1 trees changed"), (measured, "1 measurements"), (supported, "1 supports")]
)
def test_undo_is_refused_where_something_builds_on_it(tmp_path: Path, build_on: object, told: str) -> None:
    assert callable(build_on)
    made = load(tmp_path).load
    assert builds_on(made) == {}
    build_on(Tree.objects.get(external_key="T1"))
    before = numbers()
    with pytest.raises(Conflict, match=told):
        undo(SERVICE, made.uid)
    assert numbers() == before
    assert IntakeLoad.objects.get().state == "loaded"


def test_undo_keeps_the_news_of_the_trees_and_takes_only_the_tree_from_it(tmp_path: Path) -> None:
    made = load(tmp_path).load
    tree = Tree.objects.get(external_key="T1")
    events.record(SERVICE, "tree.visited", "tree", tree.uid, tree_id=tree.pk)
    undo(SERVICE, made.uid)
    news = Event.objects.get(kind="tree.visited")
    assert (news.subject_uid, news.tree_id) == (tree.uid, None)


def test_undo_knows_of_every_table_that_points_to_a_tree() -> None:
    """The database's own catalogue of foreign keys names no table that undo would not look at."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT DISTINCT conrelid::regclass::text FROM pg_constraint"
            " WHERE contype = 'f' AND confrelid IN ('tree'::regclass, 'site'::regclass)"
        )
        pointing = {row[0] for row in cursor.fetchall()}
    known = {relation.related_model._meta.db_table for relation in _relations()}
    assert {"measurement", "inspection", "event"} <= pointing
    assert pointing <= known
