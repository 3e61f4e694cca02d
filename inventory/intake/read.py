"""Opens a foreign file strictly and hands out its rows in blocks of columns; what it is follows from its bytes."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from django.conf import settings
from numpy.typing import NDArray

from inventory.intake import delimited, geojson, geopackage, shapefile
from inventory.intake.layout import Block, Layout
from inventory.problems import Invalid

# What a file begins with that we cannot read yet, and what to do about it.
FOREIGN = (
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet: save the sheet as CSV"),
    (b"%PDF", "a PDF document: ask for the table behind it"),
    (b"\x00\x00\x27\x0a", "one part of a Shapefile: put .shp, .shx, .dbf and .prj into one ZIP archive"),
    (b"\x1f\x8b", "compressed with gzip: unpack it first"),
)


@dataclass(frozen=True)
class Reader:
    """One format: how to know its layout, its columns and its rows."""

    lay_out: Callable[[Path], Layout]
    columns: Callable[[Path, Layout], list[str]]
    blocks: Callable[[Path, Layout, int], Iterator[Block]]
    # The coordinate reference system that the file says it is in, as the file names it; empty where it says none.
    declared: Callable[[Path, Layout], str] = lambda path, layout: ""


READERS = {
    "csv": Reader(delimited.lay_out, delimited.columns, delimited.blocks),
    "geojson": Reader(geojson.lay_out, geojson.columns, geojson.blocks, geojson.declared),
    "gpkg": Reader(geopackage.lay_out, geopackage.columns, geopackage.blocks, geopackage.declared),
    "shapefile": Reader(shapefile.lay_out, shapefile.columns, shapefile.blocks, shapefile.declared),
}
# Which format a file is in, by its first bytes.
MARKS = ((b"SQLite format 3\x00", "gpkg"), (b"PK\x03\x04", "shapefile"))


@dataclass(frozen=True)
class Source:
    """An opened file: it can be read more than once, and never whole at a time unless its format demands it."""

    name: str
    path: Path
    sha256: str
    layout: Layout
    columns: list[str]

    @property
    def declared(self) -> str:
        """The coordinate reference system that the file names; empty where it names none."""
        return READERS[self.layout.format].declared(self.path, self.layout)

    def blocks(self) -> Iterator[Block]:
        """The rows in the order of the file. Raises Invalid where the file breaks off or breaks its format."""
        return READERS[self.layout.format].blocks(self.path, self.layout, len(self.columns))


def open_source(path: Path, layout: Layout | None = None, name: str = "") -> Source:
    """Open a file under a given layout, or one found from its bytes. Raises Invalid, naming what is wrong."""
    sha256 = _measure(path)
    layout = layout or _lay_out(path)
    columns = READERS[layout.format].columns(path, layout)
    return Source(name or path.name, path, sha256, layout, columns)


def _measure(path: Path) -> str:
    """Check existence and size; return the SHA-256 of the content."""
    if not path.is_file():
        raise Invalid.field("#/file", f"there is no file {path}")
    size, limit = path.stat().st_size, settings.UPLOAD_MAX_BYTES
    if size > limit:
        raise Invalid.field("#/file", f"{size:,} bytes; at most {limit:,} are taken (UPLOAD_MAX_MIB)")
    if size == 0:
        raise Invalid.field("#/file", "the file is empty")
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise Invalid.field("#/file", f"cannot be read: {error.strerror}") from error


def _lay_out(path: Path) -> Layout:
    with path.open("rb") as file:
        start = file.read(4096)
    for mark, what in FOREIGN:
        if start.startswith(mark):
            raise Invalid.field("#/file", f"this is {what}")
    for mark, format in MARKS:
        if start.startswith(mark):
            return READERS[format].lay_out(path)
    is_json = start.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"{", b"["))
    return READERS["geojson" if is_json else "csv"].lay_out(path)


def sample(source: Source, wanted: int = 50_000) -> tuple[list[list[str]], int]:
    """Cells of about `wanted` rows spread evenly over the file, column by column, and the number of all rows."""
    kept: list[list[str]] = [[] for _ in source.columns]
    total, step = 0, 1
    for block in source.blocks():
        rows = np.arange(-total % step, len(block.lines), step)
        for column, cells in zip(kept, block.cells, strict=True):
            column.extend(_taken(cells, rows))
        total += len(block.lines)
        while kept and len(kept[0]) > wanted:
            kept, step = [column[::2] for column in kept], step * 2
    return kept, total


def _taken(cells: list[str], rows: NDArray[np.int64]) -> list[str]:
    return cells if len(rows) == len(cells) else [cells[row] for row in rows]
