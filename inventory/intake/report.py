"""Verdicts as CSV for a spreadsheet: one line a row of the file, with its reasons and its cells."""

import csv
import re
from collections.abc import Iterable, Iterator, Sequence

from inventory.intake.examine import Verdict
from inventory.models import IntakeVerdict

# A spreadsheet runs cells that begin so; a plain number may begin with a sign.
_FORMULA = re.compile(r"[=@\t\r]|[-+](?![\d.]+$)")


Judged = Verdict | IntakeVerdict


class _Echo:
    """A file that hands back what is written to it."""

    def write(self, text: str) -> str:
        return text


def lines(rows: Iterable[Judged], columns: Sequence[str] = ()) -> Iterator[str]:
    """The report line by line, the heading first. Without `columns` those of the first row are taken."""
    writer = csv.writer(_Echo())
    for number, row in enumerate(rows):
        if number == 0:
            columns = columns or list(row.cells)
            yield writer.writerow(["line", "verdict", "reasons", "details", *map(harmless, columns)])
        told = [row.line, row.verdict, " ".join(row.reasons), harmless("; ".join(row.details))]
        yield writer.writerow([*told, *(harmless(row.cells.get(name, "")) for name in columns)])
    if not columns:
        yield writer.writerow(["line", "verdict", "reasons", "details"])


def harmless(cell: str) -> str:
    """The cell, with an apostrophe before what a spreadsheet would run as a formula.

    >>> harmless("=1+1"), harmless("-122.4")
    ("'=1+1", '-122.4')
    """
    return f"'{cell}" if _FORMULA.match(cell) else cell
