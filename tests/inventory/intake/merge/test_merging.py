"""Merged and put back: sizes become measurements, what people did is kept, one act, one event, undone to the letter."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import calendar, services
from inventory.history import SERVICE, Author
from inventory.intake import load as loading
from inventory.intake import mapping as mappings
from inventory.intake import rows as writing
from inventory.intake.merge import merging as steps
from inventory.intake.merge import queries, write
from inventory.intake.progress import Cancelled
from inventory.intake.undo import undo
from inventory.models import Event, IntakeLoad, IntakeMerge, IntakeMergeRow, Measurement, Site, Tree
from inventory.problems import Conflict, Invalid
from tests.support import build, intake, merging
from tests.support.intake import species as species

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
FIRST = [intake.row(number, dbh=str(8 + number)) for number in range(1, 13)]
LATER = [
    *FIRST[:4], intake.row(5, dbh="16"), intake.row(6, dbh="14", species="Tilia americana"),
    intake.row(7, dbh="15", lat=f"{build.LAT + 0.00003:.6f}"), intake.row(8, dbh="16", address="8a Mill Lane"),
    intake.row(9, dbh="17", planted="1998-03-01"), intake.row(10, dbh="", species="Stump"),
    intake.row(11, dbh="", species="Vacant site"), intake.row(20), intake.row(21, species="Vacant site", dbh=""),
]  # fmt: skip
ALL = ["gone", "vanished", "conflict", "kept", "systematic"]


def dated(day: str) -> mappings.Mapping:
    return mappings.parse(intake.MAPPING.replace("[file]", f"[file]\nmeasured_on = {day}"))


def tree(key: str) -> Tree:
    return Tree.objects.select_related("site", "species").get(external_key=key)


def measured(key: str, dbh_cm: float, on: date) -> None:
    services.measure(SERVICE, tree(key), services.Size(measured_on=on, method="tape", dbh_cm=dbh_cm))


def test_what_is_taken_is_written_as_the_services_would(tmp_path: Path) -> None:
    build.zone("wide", 1000)
    merging.load(tmp_path, FIRST, dated("2020-05-01"))
    merging.merge(tmp_path, LATER, dated("2022-05-01"), take=["gone", "vanished"])
    assert tree("T5").dbh_cm == pytest.approx(16 * 2.54)
    sizes = Measurement.objects.filter(tree=tree("T5")).order_by("id").values_list("measured_on", "method", "dbh_cm")
    assert [size[:2] for size in sizes] == [(date(2020, 5, 1), "city_file"), (date(2022, 5, 1), "city_file")]
    assert [size[2] for size in sizes] == pytest.approx([13 * 2.54, 16 * 2.54])
    assert str(tree("T6").species) == tree("T6").species_text == "Tilia americana"
    moved = tree("T7")
    assert moved.site
    assert moved.location.y == moved.site.location.y == pytest.approx(build.LAT + 0.00003, abs=1e-9)
    assert [site.house_number for site in Site.objects.filter(trees=tree("T8"))] == ["8a"]
    assert str(tree("T9").planted_from) == "1998-03-01"
    stump, gone, vanished = tree("T10"), tree("T11"), tree("T12")
    assert (stump.state, stump.removal_reason) == ("stump", "a stump in the city's file later.csv")
    assert (gone.state, str(gone.removed_on)) == ("removed", "2022-05-01")
    assert vanished.state == "removed"
    assert {one.site.state for one in (stump, gone, vanished) if one.site} == {"vacant"}
    assert tree("T20").zone_id is not None
    assert Site.objects.get(external_key="T21").state == "vacant"
    before = merging.standing()
    with SERVICE.acting("compare"):
        services.restate_sizes(list(Tree.objects.values_list("pk", flat=True)))
        services.place(list(Tree.objects.values_list("pk", flat=True)))
    assert merging.standing() == before


def test_what_is_gone_or_vanished_is_only_listed_by_default(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.merge(tmp_path, LATER)
    assert set(Tree.objects.values_list("state", flat=True)) == {"alive"}
    assert (made.counts["kinds"]["gone"], made.counts["kinds"]["vanished"]) == (2, 1)
    assert not queries.rows(made, "gone").filter(taken=True).exists()


def test_a_merge_is_one_act_of_its_author_with_one_event_and_a_load_of_its_own(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    person = build.user()
    seen = Event.objects.count()
    source = intake.source(tmp_path, LATER, "later.csv")
    made = steps.merge(Author(person.pk, "request-9"), source, intake.mapping())
    (event,) = Event.objects.order_by("id")[seen:]
    assert (event.kind, event.actor_id, event.data["merge"]) == ("intake.merged", person.pk, str(made.uid))
    with connection.cursor() as cursor:
        for table in ("tree_past", "site_past", "measurement_past"):
            cursor.execute(
                f"SELECT DISTINCT c.metadata->>'why', c.metadata->>'request' FROM {table} p"
                " JOIN pghistory_context c ON c.id = p.pgh_context_id WHERE p.pgh_context_id = %s",
                [made.act],
            )
            assert cursor.fetchall() == [("merge of later.csv", "request-9")]
    assert made.load
    assert (made.load.counts["trees"], made.load.counts["vacant_sites"]) == (1, 1)
    assert set(Tree.objects.filter(intake_load=made.load).values_list("external_key", flat=True)) == {"T20"}


def test_a_dry_run_writes_nothing_of_the_inventory_and_tells_what_the_merge_does(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    before = merging.standing()
    dry = merging.check(tmp_path, LATER)
    assert merging.standing() == before
    assert (dry.state, dry.load, Event.objects.filter(kind="intake.merged").count()) == ("checked", None, 0)
    done = merging.merge(tmp_path, LATER)
    assert (done.counts, done.notices) == (dry.counts, dry.notices)

    def plain(made: IntakeMerge) -> list[tuple[object, ...]]:
        return list(queries.rows(made).values_list("line", "tree_uid", "kind", "differences", "taken", "about"))

    assert plain(done) == plain(dry)


def test_dry_runs_are_dropped_for_newer_ones_and_merges_never(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.intake.trial.NEWEST", 2)
    merging.load(tmp_path, FIRST)
    merged = merging.merge(tmp_path, LATER)
    made = [merging.check(tmp_path, LATER) for _ in range(4)]
    assert set(IntakeMerge.objects.values_list("pk", flat=True)) == {merged.pk, made[2].pk, made[3].pk}
    kept = set(IntakeMergeRow.objects.values_list("merge", flat=True))
    assert made[0].pk not in kept
    assert {merged.pk, made[3].pk} <= kept


def test_the_same_merge_again_changes_nothing(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    merging.merge(tmp_path, LATER, take=["gone", "vanished"])
    before = merging.standing()
    again = merging.merge(tmp_path, LATER, take=["gone", "vanished"])
    assert merging.standing() == before
    assert merging.kinds(again) == {"same": 13}


def test_a_newer_measurement_of_a_person_is_kept_and_listed(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST, dated("2020-05-01"))
    measured("T5", 35.0, date(2023, 6, 1))
    made = merging.merge(tmp_path, LATER, dated("2022-05-01"))
    assert tree("T5").dbh_cm == 35.0
    row = queries.rows(made, field="dbh", standing="kept").get()
    assert (row.differences[0]["ours"], row.differences[0]["file"]) == (35.0, pytest.approx(16 * 2.54))
    assert [notice["kind"] for notice in made.notices] == ["older_than_ours"]
    assert Measurement.objects.filter(tree=tree("T5")).count() == 2


def test_a_size_kept_as_older_is_added_to_the_history_where_asked(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST, dated("2020-05-01"))
    measured("T5", 35.0, date(2023, 6, 1))
    merging.merge(tmp_path, LATER, dated("2022-05-01"), take=["kept"])
    assert tree("T5").dbh_cm == 35.0
    days = Measurement.objects.filter(tree=tree("T5")).order_by("measured_on").values_list("measured_on", flat=True)
    assert [day.year for day in days] == [2020, 2022, 2023]


@pytest.mark.parametrize(("take", "expected"), [([], 35.0), (["conflict"], 16 * 2.54)])
def test_an_older_measurement_of_a_person_is_a_conflict(tmp_path: Path, take: list[str], expected: float) -> None:
    merging.load(tmp_path, FIRST, dated("2020-05-01"))
    measured("T5", 35.0, date(2021, 6, 1))
    made = merging.merge(tmp_path, LATER, dated("2022-05-01"), take=take)
    assert made.counts["fields"]["dbh"]["conflict"] == 1
    assert tree("T5").dbh_cm == pytest.approx(expected)


def edit(key: str, **changes: object) -> None:
    one = tree(key)
    services.edit_tree(SERVICE, one, changes, version=one.version, why="seen on the spot")


@pytest.mark.parametrize(("take", "expected"), [([], "Quercus robur"), (["conflict"], "Tilia americana")])
def test_a_desk_edit_since_the_load_is_a_conflict_with_both_values(
    tmp_path: Path, take: list[str], expected: str
) -> None:
    merging.load(tmp_path, FIRST)
    oak = build.species("Quercus robur")
    edit("T6", species_id=oak.pk, species_text="Quercus robur")
    made = merging.merge(tmp_path, LATER, take=take)
    assert str(tree("T6").species) == expected
    (told,) = queries.rows(made, standing="conflict").get().differences
    assert (told["field"], told["ours"], told["file"]) == ("species", "Quercus robur", "Tilia americana")


def test_an_edit_of_another_field_is_no_conflict(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    edit("T6", note="leans")
    made = merging.merge(tmp_path, LATER)
    assert made.counts["fields"]["species"]["conflict"] == 0
    assert (str(tree("T6").species), tree("T6").note) == ("Tilia americana", "leans")


def test_what_an_earlier_merge_took_is_the_files_own_and_no_conflict(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    merging.merge(tmp_path, LATER)
    third = [*LATER[:5], intake.row(6, dbh="14", species="Tilia tomentosa"), *LATER[6:]]
    made = merging.merge(tmp_path, third)
    assert made.counts["fields"]["species"] == {
        "differs": 1, "free": 1, "conflict": 0, "kept": 0, "systematic": 0, "taken": 1,
    }  # fmt: skip


def test_an_edit_that_a_merge_overwrote_and_undo_put_back_is_a_conflict_again(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    edit("T6", species_text="our own words")
    made = merging.merge(tmp_path, LATER, take=["conflict"])
    assert made.load
    undo(SERVICE, made.load.uid)
    assert merging.check(tmp_path, LATER).counts["fields"]["species"]["conflict"] == 1


def test_what_a_person_added_is_not_overwritten_without_being_asked(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    build.tree(300, 300, external_key="T99", species_text="Tilia cordata", dbh_cm=None)
    place = {"lat": f"{build.LAT + 300 / 111_130:.6f}", "lon": f"{build.LON + 300 / 78_850:.6f}"}
    made = merging.merge(tmp_path, [*FIRST, intake.row(99, species="Tilia americana", **place)])
    assert made.counts["fields"]["species"]["conflict"] == 1
    assert tree("T99").species_text == "Tilia cordata"


def test_merge_then_undo_is_as_if_nothing_had_been(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    edit("T6", species_text="our own words")
    measured("T5", 35.0, date(2021, 6, 1))
    before = merging.standing()
    made = merging.merge(tmp_path, LATER, take=ALL)
    assert merging.standing() != before
    assert made.load
    undone = undo(SERVICE, made.load.uid)
    assert merging.standing() == before
    made.refresh_from_db()
    assert (undone.state, made.state) == ("undone", "undone")
    with pytest.raises(Conflict, match="undone already"):
        undo(SERVICE, made.load.uid)


def test_swapped_keys_go_over_and_come_back(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    before = merging.standing()
    later = [intake.row(number, id=f"T{13 - number}", dbh=str(8 + number)) for number in range(1, 13)]
    made = merging.merge(tmp_path, later)
    assert tree("T12").dbh_cm == pytest.approx(9 * 2.54)
    assert made.load
    undo(SERVICE, made.load.uid)
    assert merging.standing() == before


CELLS = {
    "dbh": st.sampled_from(["", "3", "12", "12.5", "40"]),
    "species": st.sampled_from(["Tilia cordata", "Quercus robur", "Stump", "Vacant site", "", "Arbor ignota"]),
    "planted": st.sampled_from(["", "1999-04-01", "2001", "1800-01-01"]),
    "address": st.sampled_from(["", "1 Mill Lane", "2 High Street"]),
    "id": st.sampled_from(["", "T1", "T2", "T3", "T4", "T5", "N1"]),
    "lat": st.sampled_from(["", f"{build.LAT:.6f}", f"{build.LAT + 0.00002:.6f}", f"{build.LAT + 0.01:.6f}"]),
}
cities = st.lists(st.fixed_dictionaries({}, optional=CELLS), min_size=1, max_size=9).map(
    lambda rows: [intake.row(place + 1, **cells) for place, cells in enumerate(rows)]
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=cities, later=cities, take=st.lists(st.sampled_from([*ALL, "changed"]), max_size=6, unique=True))
def test_whatever_is_merged_undo_takes_it_back(
    tmp_path: Path, first: list[list[str]], later: list[list[str]], take: list[str]
) -> None:
    with transaction.atomic():
        base = [intake.row(number, id=f"B{number}", lat=f"{build.LAT - 0.001:.6f}") for number in range(1, 4)]
        merging.load(tmp_path, [*first, *base])
        before = merging.standing()
        alone = merging.merge(tmp_path, [*first, *base], take=ALL, anyway=True)
        assert merging.standing() == before, "merging a file with itself changes nothing"
        made = merging.merge(tmp_path, [*later, *base], take=take, anyway=True)
        assert sum(made.counts["kinds"].values()) == len(later) + 3 + made.counts["kinds"]["vanished"]
        for load in (made.load, alone.load):
            assert load
            undo(SERVICE, load.uid)
            assert merging.standing() == before
        transaction.set_rollback(True)


def test_undo_names_what_was_built_on_the_merge(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.merge(tmp_path, LATER)
    edit("T6", note="seen")
    before = merging.standing()
    assert made.load
    with pytest.raises(Conflict, match="1 trees that it changed, changed since"):
        undo(SERVICE, made.load.uid)
    assert merging.standing() == before
    assert IntakeMerge.objects.get(pk=made.pk).state == "merged"


def test_merges_are_undone_the_newest_first_and_then_the_load(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    loads = [IntakeLoad.objects.get()]
    for dbh in ("20", "30"):
        made = merging.merge(tmp_path, [*FIRST[:4], intake.row(5, dbh=dbh), *FIRST[5:]])
        assert made.load
        loads.append(made.load)
    for load in loads[:2]:
        with pytest.raises(Conflict, match="changed since"):
            undo(SERVICE, load.uid)
    for load in reversed(loads):
        undo(SERVICE, load.uid)
    assert Tree.objects.count() == Measurement.objects.count() == Site.objects.count() == 0


@pytest.mark.parametrize("at", ["reading", "checking", "matching", "comparing", "merging", "keeping the rows"])
def test_a_cancelled_merge_leaves_nothing(tmp_path: Path, at: str) -> None:
    merging.load(tmp_path, FIRST)
    before = merging.standing()

    def stop(done: int, total: int | None, step: str) -> None:
        if step == at:
            raise Cancelled

    with pytest.raises(Cancelled):
        merging.merge(tmp_path, LATER, progress=stop)
    assert merging.standing() == before
    assert IntakeMerge.objects.count() == 0


@pytest.mark.parametrize("at", ["looking for what builds on it", "taking trees back", "putting trees back"])
def test_a_cancelled_undo_leaves_the_merge_as_it_was(tmp_path: Path, at: str) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.merge(tmp_path, LATER)
    before = merging.standing()

    def stop(done: int, total: int | None, step: str) -> None:
        if step == at:
            raise Cancelled

    assert made.load
    with pytest.raises(Cancelled):
        undo(SERVICE, made.load.uid, stop)
    assert merging.standing() == before


def test_blocks_of_any_size_give_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    merging.load(tmp_path, FIRST)
    keyed = list(Tree.objects.order_by("id").values_list("pk", flat=True))

    def told() -> list[tuple[object, ...]]:
        rows = Tree.objects.order_by("external_key")
        return list(rows.values_list("external_key", "species_text", "dbh_cm", "state", "site__street", "location"))

    made = merging.merge(tmp_path, LATER, take=ALL)
    whole = told()
    assert made.load
    undo(SERVICE, made.load.uid)
    assert list(Tree.objects.order_by("id").values_list("pk", flat=True)) == keyed
    for module in (writing, write):
        monkeypatch.setattr(module, "BLOCK_ROWS", 2)
    merging.merge(tmp_path, LATER, take=ALL)
    assert told() == whole


def test_a_merged_file_counts_as_loaded(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    merging.merge(tmp_path, LATER)
    outcome = loading.load(SERVICE, intake.source(tmp_path, LATER, "later.csv"), intake.mapping())
    assert outcome.already


@pytest.mark.parametrize("how", [loading.judge, steps.planned])
def test_a_file_of_a_day_to_come_is_refused(tmp_path: Path, how: Callable[..., object]) -> None:
    merging.load(tmp_path, FIRST)
    source = intake.source(tmp_path, LATER, "later.csv")
    with pytest.raises(Invalid) as refused:
        how(source, dated((calendar.today() + timedelta(days=1)).isoformat()))
    assert [error.pointer for error in refused.value.errors] == ["#/file/measured_on"]
    how(source, dated(calendar.today().isoformat()))


def test_an_unknown_tree_in_the_choices_is_no_error(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    assert merging.merge(tmp_path, LATER, trees={str(uuid.uuid4()): "file"}).state == "merged"
