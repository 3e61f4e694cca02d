"""A database of its own for a benchmark or a long test: made from the template, migrated, dropped again."""

import os
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import LiteralString
from urllib.parse import urlsplit, urlunsplit

import psycopg
from psycopg import sql
from psycopg.conninfo import make_conninfo

from deploy.env import database, load

ROOT = Path(__file__).resolve().parent.parent.parent
TEMPLATE = "boleward_template"


@contextmanager
def database_of_its_own(srid: int) -> Iterator[dict[str, str]]:
    """Make a migrated database with this metric SRID; yield the environment in which to use it; drop it.

    The environment holds only what differs from the caller's: DATABASE_URL, DATABASE_OWNER_URL, METRIC_SRID.
    """
    name = f"scratch_{uuid.uuid4().hex[:12]}"
    env = load()
    owner_url = env.str("DATABASE_OWNER_URL")
    settings = {
        "DATABASE_URL": renamed(env.str("DATABASE_URL"), name),
        "DATABASE_OWNER_URL": renamed(owner_url, name),
        "METRIC_SRID": str(srid),
    }
    _administer(owner_url, "CREATE DATABASE {} TEMPLATE {}", name, TEMPLATE)
    try:
        manage(settings, "migrate", "--verbosity", "0")
        yield settings
    finally:
        _administer(owner_url, "DROP DATABASE IF EXISTS {} WITH (FORCE)", name)


def manage(settings: dict[str, str], *words: str) -> str:
    """Run one management command in that environment and return what it printed. Raises CalledProcessError."""
    done = subprocess.run(  # noqa: S603 (our own command, words of our own)
        [sys.executable, str(ROOT / "manage.py"), *words],
        env=os.environ | settings,
        cwd=ROOT,
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    return done.stdout


def renamed(url: str, name: str) -> str:
    """The same database server, another database."""
    parts = urlsplit(url)
    return urlunsplit(parts._replace(path=f"/{name}"))


def _administer(owner_url: str, statement: LiteralString, *names: str) -> None:
    found = database(owner_url, "DATABASE_OWNER_URL")
    parts = {"dbname": "postgres", "user": found["USER"], "password": found["PASSWORD"]}
    parts |= {"host": found["HOST"], "port": found["PORT"]}
    address = make_conninfo(**{key: str(value) for key, value in parts.items() if value})
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))
