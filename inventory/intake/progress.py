"""How long work says how far it is, and how it hears that it is to stop."""

from typing import Protocol


class Cancelled(Exception):
    """Somebody asked the work to stop: everything it wrote is rolled back."""


class Progress(Protocol):
    """Called now and then by the work: rows done, rows in all (None: not known yet), the step in words."""

    def __call__(self, done: int, total: int | None, step: str) -> None:
        """Note how far the work is. Raises Cancelled where it is to stop."""


def silent(done: int, total: int | None, step: str) -> None:
    """Tell nobody."""
