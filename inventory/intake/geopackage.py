"""Reads the point layers of a GeoPackage (OGC 12-128) as the SQLite database that it is; GDAL never sees it.

Only tables are read, never views, and the database is opened so that nothing in it can run or be written.
"""

import math
import sqlite3
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from inventory.intake.delimited import unique
from inventory.intake.layout import BLOCK_ROWS, MAX_COLUMNS, Block, Layout, cell
from inventory.problems import Invalid

# Bytes of the envelope that may stand between head and geometry, by its code (OGC 12-128, clause 2.1.3).
_ENVELOPES = (0, 32, 48, 48, 64)
# Steps of the database's machine after which it asks whether to go on; one row takes some hundred.
_STEPS, _MOST_STEPS = 1_000_000, 20_000
_POINTS = "SELECT g.table_name, g.column_name, g.srs_id FROM gpkg_geometry_columns g \
JOIN gpkg_contents c ON c.table_name = g.table_name JOIN sqlite_master m ON m.name = g.table_name \
WHERE c.data_type = 'features' AND m.type = 'table' AND upper(g.geometry_type_name) IN ('POINT', 'GEOMETRY') \
ORDER BY g.table_name"


def lay_out(path: Path) -> Layout:
    """Find the layer: of several with points the one with most rows. Raises Invalid."""
    with _opened(path) as database:
        counts = {name: _count(database, name) for name, _, _ in _layers(database)}
    return Layout("gpkg", layer=max(counts, key=lambda name: (counts[name], name)))


def columns(path: Path, layout: Layout) -> list[str]:
    """The columns of the layer in their order, the geometry last. Raises Invalid."""
    with _opened(path) as database:
        names, _ = _columns(database, layout)
    return unique(iter([*names, "geometry"]))


def declared(path: Path, layout: Layout) -> str:
    """The system of the layer, by its organisation and number."""
    with _opened(path) as database:
        _, _, srs = _layer(database, layout)
        query = "SELECT organization, organization_coordsys_id FROM gpkg_spatial_ref_sys WHERE srs_id = ?"
        found = database.execute(query, [srs]).fetchone()
    return f"{found[0]}:{found[1]}"[:200] if found and isinstance(found[1], int) and found[1] > 0 else ""


def blocks(path: Path, layout: Layout, width: int) -> Iterator[Block]:
    """The rows in the order of the table; the line is the number of the row, from 1."""
    with _opened(path) as database:
        table, geometry, _ = _layer(database, layout)
        names, _ = _columns(database, layout)
        chosen = ", ".join(_quoted(name) for name in [*names, geometry])
        cursor = database.execute(f"SELECT {chosen} FROM {_quoted(table)}")
        start = 1
        while rows := cursor.fetchmany(BLOCK_ROWS):
            *values, points = zip(*rows, strict=True)
            cells = [[_text(value) for value in column] for column in values]
            cells.append([point(value) for value in points])
            yield Block(np.arange(start, start + len(rows), dtype=np.int64), cells, np.zeros(len(rows), bool))
            start += len(rows)


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """The database, read-only, trusting nothing in it. Raises Invalid for what is damaged or runs on and on."""
    left = _MOST_STEPS

    def stop() -> int:
        nonlocal left
        left -= 1
        return int(left < 0)

    database = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        database.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 4_000_000)
        for pragma in ("trusted_schema = OFF", "query_only = ON", "cell_size_check = ON", "mmap_size = 0"):
            database.execute(f"PRAGMA {pragma}")
        database.set_progress_handler(stop, _STEPS)
        yield database
    except (sqlite3.Error, UnicodeError, OverflowError) as error:
        raise Invalid.field("#/file", f"a GeoPackage that cannot be read: {error}") from error
    finally:
        database.close()


def _layers(database: sqlite3.Connection) -> list[tuple[str, str, int]]:
    (mark,) = database.execute("PRAGMA application_id").fetchone()
    # "GPKG", and "GP10" and "GP11" of the first versions (OGC 12-128, clause 1.1.1.1.1).
    if mark not in (0x47504B47, 0x47503130, 0x47503131):
        raise Invalid.field("#/file", "an SQLite database that is no GeoPackage: export the table as CSV or GeoJSON")
    found = database.execute(_POINTS).fetchall()
    if not found:
        raise Invalid.field("#/file", "a GeoPackage without a layer of points")
    return found


def _layer(database: sqlite3.Connection, layout: Layout) -> tuple[str, str, int]:
    layers = {name: (name, geometry, srs) for name, geometry, srs in _layers(database)}
    if layout.layer not in layers:
        told = ", ".join(map(repr, layers))
        raise Invalid.field("#/file/layer", f"the file has no layer of points {layout.layer!r}; it has {told:.500}")
    return layers[layout.layer]


def _columns(database: sqlite3.Connection, layout: Layout) -> tuple[list[str], str]:
    table, geometry, _ = _layer(database, layout)
    every = [row[1] for row in database.execute(f"PRAGMA table_info({_quoted(table)})")]
    if len(every) > MAX_COLUMNS:
        raise Invalid.field("#/file", f"{len(every):,} columns; at most {MAX_COLUMNS} are read")
    return [name for name in every if name != geometry], geometry


def _count(database: sqlite3.Connection, table: str) -> int:
    return int(database.execute(f"SELECT count(*) FROM {_quoted(table)}").fetchone()[0])


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _text(value: object) -> str:
    if value is None or isinstance(value, bytes):
        return ""
    return cell(repr(value) if isinstance(value, float) else str(value))


def point(raw: object) -> str:
    """A geometry of a GeoPackage as the WKT of its point; empty for anything else.

    >>> point(bytes.fromhex("475000010000000001010000000000000000000440000000000000F03F"))
    'POINT (2.5 1.0)'
    """
    if not isinstance(raw, bytes) or len(raw) < 8 or raw[:2] != b"GP" or raw[3] >> 1 & 7 >= len(_ENVELOPES):
        return ""
    return wkb_point(raw[8 + _ENVELOPES[raw[3] >> 1 & 7] :])


def wkb_point(raw: bytes) -> str:
    """Well-known binary as the WKT of its point (heights and measures left out); empty for anything else."""
    if len(raw) < 21 or raw[0] > 1:
        return ""
    order = "<" if raw[0] else ">"
    kind, x, y = struct.unpack_from(f"{order}Idd", raw, 1)
    # Point, PointZ, PointM, PointZM as ISO numbers them, and as the older extension does by high bits.
    if (kind & 0x0FFFFFFF) % 1000 != 1 or not (math.isfinite(x) and math.isfinite(y)):
        return ""
    return f"POINT ({x!r} {y!r})"
