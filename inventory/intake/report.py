"""Verdicts as CSV for a spreadsheet: one line a row of the file, with its reasons and its cells."""

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from inventory.formats import csv_writer
from inventory.intake.examine import Verdict
from inventory.models import IntakeCheckRow, IntakeVerdict

HEADING = ("line", "verdict", "reasons", "details")
_NUMBER = re.compile(r"-?\d{1,30}(?:\.\d{1,30})?")


def write(rows: Iterable[Verdict | IntakeVerdict | IntakeCheckRow], columns: Sequence[str]) -> Iterator[bytes]:
    """Yield the report in pieces: the heading, then a line a row with the cells of these columns of the file."""
    return csv_writer.write([*HEADING, *columns], (_told(row, columns) for row in rows))


def _told(row: Verdict | IntakeVerdict | IntakeCheckRow, columns: Sequence[str]) -> list[object]:
    cells = (_plain(row.cells.get(name, "")) for name in columns)
    return [row.line, row.verdict, " ".join(row.reasons), "; ".join(row.details), *cells]


def _plain(cell: str) -> object:
    """A number stays one, so that a western longitude is not taken for a formula."""
    return Decimal(cell) if _NUMBER.fullmatch(cell) else cell
