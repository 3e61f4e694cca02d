"""Writes CSV as RFC 4180 means it, as a stream, with cells that no spreadsheet takes for a formula."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

MEDIA_TYPE: Final = "text/csv; charset=utf-8; header=present"
_CHUNK: Final = 64 * 1024
# What starts a formula in one spreadsheet or another, full-width signs included.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def write(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[bytes]:
    """Yield the file in pieces: UTF-8, a header line, CRLF, quotes where needed."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([cell(value) for value in row])
        if buffer.tell() > _CHUNK:
            yield _taken(buffer)
    yield _taken(buffer)


def cell(value: object) -> str:
    """The text of one cell: empty for None, `true` and `false`, and an apostrophe before what looks like a formula.

    >>> cell("=1+1"), cell(-3.5), cell(None)
    ("'=1+1", '-3.5', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    text = str(value)
    # Numbers of ours may be negative; only texts come from people.
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text


def _taken(buffer: io.StringIO) -> bytes:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()
