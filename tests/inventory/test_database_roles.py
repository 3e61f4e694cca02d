"""What the role that runs the service may do: read, and add to what only grows; it owns nothing."""

from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection
from psycopg import errors

from inventory import database

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_app(db: None) -> Iterator[psycopg.Connection]:
    """A connection to the test database as the restricted role; what it writes is rolled back."""
    chosen: dict[str, Any] = settings.APP_DATABASE
    with psycopg.connect(
        dbname=connection.settings_dict["NAME"],
        user=chosen["USER"],
        password=chosen["PASSWORD"] or None,
        host=chosen["HOST"] or None,
        port=chosen["PORT"] or None,
    ) as link:
        yield link
        link.rollback()


def tables(append_only: bool) -> list[str]:
    """Every table of the service, by whether it only grows."""
    found = {
        table: grows
        for label in ("inventory", "assessments", "works", "pghistory")
        for table, grows in database._tables(apps.get_app_config(label))
    }
    return sorted(table for table, grows in found.items() if grows is append_only)


def test_the_history_of_every_noun_only_grows() -> None:
    growing = tables(append_only=True)
    assert {"tree_past", "inspection_past", "order_item_past", "pghistory_context", "policy"} <= set(growing)


@pytest.mark.parametrize("table", tables(append_only=True))
@pytest.mark.parametrize("statement", ["UPDATE {} SET {} = {}", "DELETE FROM {0}", "TRUNCATE {0}"])
def test_nothing_that_only_grows_can_be_changed(as_app: psycopg.Connection, table: str, statement: str) -> None:
    column = as_app.execute(
        "SELECT column_name FROM information_schema.columns WHERE table_name = %s LIMIT 1", [table]
    ).fetchone()
    assert column
    with pytest.raises(errors.InsufficientPrivilege):
        as_app.execute(statement.format(table, column[0], column[0]))


def test_no_table_can_be_emptied_or_dropped(as_app: psycopg.Connection) -> None:
    for statement in ("TRUNCATE tree", "DROP TABLE tree", "ALTER TABLE tree DISABLE TRIGGER ALL"):
        with pytest.raises(errors.InsufficientPrivilege):
            as_app.execute(statement)
        as_app.rollback()


def test_it_owns_nothing_and_cannot_make_anything(as_app: psycopg.Connection) -> None:
    owned = as_app.execute("SELECT count(*) FROM pg_class WHERE relowner = 'app'::regrole").fetchone()
    assert owned == (0,)
    with pytest.raises(errors.InsufficientPrivilege):
        as_app.execute("CREATE TABLE mine (id int)")


def test_it_can_write_a_fact_in_an_act_and_only_there(as_app: psycopg.Connection) -> None:
    insert = (
        "INSERT INTO tree (location) VALUES (ST_SetSRID(ST_MakePoint(-29.5, 45), 4326))"
        " RETURNING id, location_m IS NOT NULL"
    )
    with pytest.raises(errors.IntegrityConstraintViolation, match="outside history"), as_app.transaction():
        as_app.execute(insert)
    with as_app.transaction(force_rollback=True):
        as_app.execute(
            "SELECT set_config('pghistory.context_id', gen_random_uuid()::text, true),"
            " set_config('pghistory.context_metadata', '{}', true)"
        )
        row = as_app.execute(insert).fetchone()
        assert row
        assert row[1] is True
        past = as_app.execute("SELECT pgh_label FROM tree_past WHERE pgh_obj_id = %s", [row[0]]).fetchall()
        assert past == [("insert",)]
