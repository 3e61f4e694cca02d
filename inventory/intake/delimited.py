"""Reads delimited text: the delimiter and the heading found by evidence, the rows by the csv module, strictly."""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from inventory.intake.encoding import encoding_of
from inventory.intake.layout import BLOCK_ROWS, MAX_CELL, MAX_COLUMNS, Block, Layout
from inventory.problems import Invalid

DELIMITERS = ",;\t|"
LOOKED_AT = 200
LONGEST_HEADING = 500
# What data look like and headings do not: a number, a day, a point.
_DATA = (
    re.compile(r"[-+]?\d+(?:[.,]\d+)?"),
    re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}(?:[T ].*)?"),
    re.compile(r"(?:SRID=\d+;)?\s*POINT\s*[ZM]*\s*\(.*", re.IGNORECASE),
    re.compile(r"[\[({].*\d.*[\])}]|[-+]?\d+\.\d+\s*[,; ]\s*[-+]?\d+\.\d+"),
    re.compile(r"[0-9A-Fa-f]{42,}"),
)


def lay_out(path: Path) -> Layout:
    """Find encoding, delimiter and whether the first row is a heading. Raises Invalid."""
    encoding = encoding_of(path)
    delimiter, rows = _delimiter(path, encoding)
    return Layout("csv", encoding, delimiter, header=_has_heading(rows))


def _delimiter(path: Path, encoding: str) -> tuple[str, list[list[str]]]:
    """The delimiter under which most rows have the same number of cells, more than one."""
    best, found, why = (0.0, 0), None, None
    for delimiter in DELIMITERS:
        try:
            with path.open(encoding=encoding, newline="") as file:
                rows = [row for row in islice(_reader(file, delimiter), LOOKED_AT) if row]
        except csv.Error as error:
            why = error
            continue
        width, times = Counter(map(len, rows)).most_common(1)[0] if rows else (0, 0)
        score = (round(times / max(1, len(rows)), 1), width)
        if width > 1 and score > best:
            best, found = score, (delimiter, rows)
    if found is None:
        detail = f"no delimiter of {' '.join(DELIMITERS.split())} or tab parts it into columns"
        raise Invalid.field("#/file", f"{detail} ({why})" if why else detail)
    return found


def _has_heading(rows: list[list[str]]) -> bool:
    """A heading is words that name: none is a number, a day or a point above others of its kind.

    Nor do several of its words stand again below, in columns that hold few different words ("Alive", "Yes").
    """
    first, rest = rows[0], rows[1:]
    again = 0
    for place, cell in enumerate(first):
        below = [row[place].strip() for row in rest if place < len(row) and row[place].strip()]
        if not below or not cell.strip() or len(cell) > LONGEST_HEADING:
            continue
        for shape in _DATA:
            alike = sum(1 for text in below if len(text) <= LONGEST_HEADING and shape.fullmatch(text))
            if shape.fullmatch(cell.strip()) and alike > 0.9 * len(below):
                return False
        again += below.count(cell.strip()) > 0.1 * len(below)
    return again < 2


def columns(path: Path, layout: Layout) -> list[str]:
    """The headings, each made unique; `column N` where there is none. Raises Invalid."""
    with _opened(path, layout) as file:
        try:
            first: list[str] = next((row for row in _reader(file, layout.delimiter) if row), [])
        except (csv.Error, UnicodeError) as error:
            raise Invalid.field("#/file", f"line 1: {error}") from error
    if len(first) < 2:
        raise Invalid.field("#/file", "there is only one column: is the delimiter right?")
    if len(first) > MAX_COLUMNS:
        raise Invalid.field("#/file", f"{len(first):,} columns; at most {MAX_COLUMNS} are read")
    return unique(cell if layout.header else "" for cell in first)


def unique(headings: Iterator[str]) -> list[str]:
    """Make headings unique and filled: a second `dbh` becomes `dbh (2)`."""
    found: list[str] = []
    for place, text in enumerate(headings, 1):
        name = " ".join(text.split()) or f"column {place}"
        times = 2
        while name in found:
            name = f"{' '.join(text.split()) or f'column {place}'} ({times})"
            times += 1
        found.append(name)
    return found


def blocks(path: Path, layout: Layout, width: int) -> Iterator[Block]:
    """The rows below the heading, BLOCK_ROWS at a time; blank rows are passed over. Raises Invalid."""
    with _opened(path, layout) as file:
        reader = _reader(file, layout.delimiter)
        skip = layout.header
        while True:
            before = reader.line_num
            try:
                rows = list(islice(reader, BLOCK_ROWS))
            except (csv.Error, UnicodeError) as error:
                raise Invalid.field("#/file", f"near line {reader.line_num + 1}: {error}") from error
            if not rows:
                return
            lines = _lines(rows, before, reader.line_num)
            filled = [place for place, row in enumerate(rows) if row]
            if skip and filled:
                filled, skip = filled[1:], False
            if len(filled) < len(rows):
                rows, lines = [rows[place] for place in filled], lines[filled]
            if rows:
                yield _block(rows, lines, width)


def _lines(rows: list[list[str]], before: int, after: int) -> "np.ndarray[Any, np.dtype[np.int64]]":
    """The line on which each row begins; cells with line breaks make a row longer than a line."""
    lines = np.arange(before + 1, before + 1 + len(rows), dtype=np.int64)
    if after - before != len(rows):
        extra = [sum(cell.count("\n") for cell in row) for row in rows]
        lines[1:] += np.cumsum(extra)[:-1]
    return lines


def _block(rows: list[list[str]], lines: "np.ndarray[Any, np.dtype[np.int64]]", width: int) -> Block:
    ragged = np.fromiter((len(row) != width for row in rows), bool, len(rows))
    for place in np.flatnonzero(ragged):
        rows[place] = (rows[place] + [""] * width)[:width]
    return Block(lines, [list(column) for column in zip(*rows, strict=True)], ragged)


def _opened(path: Path, layout: Layout) -> Any:
    return path.open(encoding=layout.encoding, newline="")


def _reader(file: Any, delimiter: str) -> Any:
    csv.field_size_limit(MAX_CELL)
    return csv.reader(file, delimiter=delimiter, strict=True)
