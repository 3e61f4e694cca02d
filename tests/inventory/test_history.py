"""History: every way to write is attributed, and what is written once cannot be changed."""

import uuid

import pytest
from django.db import IntegrityError, connection, transaction

from inventory import history
from inventory.history import SERVICE, Author
from inventory.models import Zone
from tests.support import build

pytestmark = pytest.mark.django_db


def acts(table: str) -> list[tuple[str, int | None, str]]:
    """Label, user and reason of each event row of a table, oldest first."""
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT p.pgh_label, (c.metadata->>'user')::bigint, c.metadata->>'why' FROM {table} p"
            " JOIN pghistory_context c ON c.id = p.pgh_context_id ORDER BY p.pgh_id"
        )
        return cursor.fetchall()


def test_a_write_outside_an_act_is_refused() -> None:
    zone = build.zone()
    with pytest.raises(IntegrityError, match="outside history"), transaction.atomic():
        Zone.objects.filter(pk=zone.pk).update(name="other")
    zone.refresh_from_db()
    assert zone.name == "Zone Z1"


def test_orm_bulk_raw_sql_and_copy_are_all_attributed() -> None:
    zone = build.zone()
    person = build.user()
    author = Author(person.pk, "request-1")
    area = zone.area
    with author.acting("one by one"):
        zone.name = "a"
        zone.save()
    with author.acting("in bulk"):
        Zone.objects.bulk_create([Zone(code="B", name="b", area=area), Zone(code="C", name="c", area=area)])
    with author.acting("by hand"), connection.cursor() as cursor:
        cursor.execute("UPDATE zone SET name = 'd' WHERE code = 'B'")
    copy_in = "COPY zone (code, name, area) FROM STDIN"
    with author.acting("by copy"), connection.cursor() as cursor, cursor.copy(copy_in) as copy:
        copy.write_row(("D", "d", area.hexewkb.decode()))
    with author.acting("gone"):
        Zone.objects.filter(code="D").delete()
    assert acts("zone_past")[1:] == [
        ("update", person.pk, "one by one"),
        ("insert", person.pk, "in bulk"),
        ("insert", person.pk, "in bulk"),
        ("update", person.pk, "by hand"),
        ("insert", person.pk, "by copy"),
        ("delete", person.pk, "gone"),
    ]


def test_an_act_ends_with_its_block_and_the_outer_one_goes_on() -> None:
    zone = build.zone()
    with history.acting(None, "outer"):
        with history.acting(None, "inner"):
            Zone.objects.filter(pk=zone.pk).update(name="inner")
        Zone.objects.filter(pk=zone.pk).update(name="outer")
    assert [why for _, _, why in acts("zone_past")[1:]] == ["inner", "outer"]
    with pytest.raises(IntegrityError), transaction.atomic():
        Zone.objects.filter(pk=zone.pk).update(name="none")


def test_a_failed_inner_act_leaves_the_outer_one_in_force() -> None:
    zone = build.zone()
    with history.acting(None, "outer"):
        with pytest.raises(RuntimeError), history.acting(None, "inner"):
            raise RuntimeError
        Zone.objects.filter(pk=zone.pk).update(name="outer")
    assert acts("zone_past")[-1][2] == "outer"


def test_an_update_that_changes_nothing_leaves_no_trace() -> None:
    zone = build.zone()
    with SERVICE.acting("same"):
        Zone.objects.filter(pk=zone.pk).update(name=zone.name)
    assert len(acts("zone_past")) == 1


def test_an_act_needs_a_reason() -> None:
    with pytest.raises(ValueError, match="why"), history.acting(None, " "):
        pass


def test_generated_columns_and_spatial_indexes_stay_out_of_the_past() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM information_schema.columns"
            " WHERE table_name LIKE '%\\_past' AND column_name = 'location_m'"
        )
        assert cursor.fetchone()[0] == 0
        cursor.execute("SELECT count(*) FROM pg_indexes WHERE tablename LIKE '%\\_past' AND indexdef LIKE '%gist%'")
        assert cursor.fetchone()[0] == 0
        cursor.execute(
            "SELECT count(*) FROM information_schema.columns"
            " WHERE table_name LIKE '%\\_past' AND column_name = 'pgh_id' AND data_type <> 'bigint'"
        )
        assert cursor.fetchone()[0] == 0


def test_the_version_rises_with_each_change() -> None:
    tree = build.tree()
    before = tree.version
    with SERVICE.acting("note"):
        type(tree).objects.filter(pk=tree.pk).update(note=str(uuid.uuid4()))
    tree.refresh_from_db()
    assert tree.version == before + 1
