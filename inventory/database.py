"""The database's own rules: SQL functions, and what the restricted role may do to each table."""

from pathlib import Path

import pghistory.models
from django.apps import AppConfig
from django.conf import settings
from django.db import connections
from psycopg import sql


def apply(app: AppConfig, using: str = "default") -> None:
    """Re-create the functions of one app and grant the restricted role what it needs on that app's tables."""
    with connections[using].cursor() as cursor:
        for path in sorted((Path(app.path) / "sql" / "functions").glob("*.sql")):
            cursor.execute(path.read_text())
        for table, append_only in _tables(app):
            rights = "SELECT, INSERT" if append_only else "SELECT, INSERT, UPDATE, DELETE"
            _grant(cursor, rights, table)
        _grant(cursor, "SELECT", "django_migrations")


def _tables(app: AppConfig) -> list[tuple[str, bool]]:
    """The tables of an app, each with whether it only ever grows."""
    found = []
    for model in app.get_models(include_auto_created=True):
        if model._meta.managed and not model._meta.proxy:
            grows = issubclass(model, pghistory.models.Event) or getattr(model, "APPEND_ONLY", False)
            grows = grows or model is pghistory.models.Context
            found.append((model._meta.db_table, grows))
    return found


def _grant(cursor: object, rights: str, table: str) -> None:
    role = sql.Identifier(settings.APP_ROLE)
    name = sql.Identifier(table)
    for statement in ("REVOKE ALL ON {0} FROM {1}", f"GRANT {rights} ON {{0}} TO {{1}}"):
        cursor.execute(sql.SQL(statement).format(name, role))  # type: ignore[attr-defined]
