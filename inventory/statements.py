"""Reads the named SQL statements that live beside each app in `sql/queries/`."""

from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


@cache
def statement(app: str, name: str) -> str:
    """Return the text of `<app>/sql/queries/<name>.sql`. Raises FileNotFoundError for an unknown name."""
    return (ROOT / app / "sql" / "queries" / f"{name}.sql").read_text()
