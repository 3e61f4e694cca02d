"""Whole files made to hurt, each in a process of its own: one clear problem or a plain survey, in bounded memory.

Memory is what the process grew by at its peak (ru_maxrss); it is far above what the files take, and far below what
holding a bomb, or ten thousand columns of Python objects over and over, would.
"""

import csv
import io
import json
import multiprocessing
import os
import random
import re
import resource
import sqlite3
import struct
import zipfile
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from inventory.intake.convert import convert
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.survey import survey
from inventory.problems import Invalid

NAMES = Catalogue([("Tilia cordata", "Tilia cordata", "accepted", "la")])
MIB = 350
SECONDS = 60


def opened(path: Path) -> tuple[str, int, float]:
    """What became of a file (the problem, or "read"), its rows, and by how many MiB the process grew at its peak."""
    ours, theirs = multiprocessing.Pipe()
    process = multiprocessing.get_context("fork").Process(target=_survey, args=(path, theirs))
    process.start()
    theirs.close()
    try:
        assert ours.poll(SECONDS), "no answer in time"
        told, rows, grown = ours.recv()
    finally:
        process.kill()
        process.join()
    return str(told), int(rows), float(grown)


def _survey(path: Path, answer: Connection) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    start = pages * os.sysconf("SC_PAGE_SIZE") / 2**20
    told, rows = "read", 0
    try:
        source = open_source(path)
        found = survey(source, NAMES)
        rows = found.rows
        if {"latitude", "point"} & {column.role for column in found.columns}:
            convert(source, found.mapping)
    except Invalid as refusal:
        told = refusal.errors[0].detail
    answer.send((told, rows, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 - start))


def _table(rows: list[list[str]]) -> bytes:
    made = io.StringIO()
    csv.writer(made).writerows(rows)
    return made.getvalue().encode()


def noise() -> bytes:
    """20 MB of bytes by chance."""
    return random.Random(1).randbytes(20_000_000)  # noqa: S311


def columns() -> bytes:
    """Ten thousand columns."""
    return _table([[f"c{n}" for n in range(10_000)], *([str(n * row) for n in range(10_000)] for row in range(100))])


def properties() -> bytes:
    """Ten thousand properties."""
    made = [{"type": "Feature", "geometry": None, "properties": {f"p{n}": n for n in range(10_000)}}] * 20
    return json.dumps({"type": "FeatureCollection", "features": made}).encode()


def one_cell() -> bytes:
    """A property of 50 MB."""
    feature = {"type": "Feature", "geometry": None, "properties": {"note": "x" * 50_000_000}}
    return json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()


def one_line() -> bytes:
    """A line of 30 MB without a delimiter."""
    return b"a,b\n" + b"x" * 30_000_000


def quoted() -> bytes:
    """A quote that is never closed."""
    return b'a,b\n1,"' + b"x,y\n" * 10_000_000


def deep() -> bytes:
    """A property nested a million deep."""
    head = b'{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{"a":'
    return head + b"[" * 1_000_000 + b"]" * 1_000_000 + b"}}]}"


def mixed() -> bytes:
    """Lines of two encodings."""
    return b"id,rue\n" + ("1,Allée\n" * 200_000).encode() + "2,Allée\n".encode("cp1252")


def bomb() -> bytes:
    """A Shapefile whose table would unpack to 1 GB."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for part in ("t.shp", "t.shx"):
            archive.writestr(part, b"\0" * 200)
        with archive.open("t.dbf", "w", force_zip64=True) as table:
            for _ in range(100):
                table.write(b"\0" * 10_000_000)
    return made.getvalue()


def partless() -> bytes:
    """A Shapefile of which only the points are there."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("t.shp", struct.pack(">7i", 9994, 0, 0, 0, 0, 0, 50) + b"\0" * 72)
    return made.getvalue()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (noise, "binary|neither|UTF"), (columns, "10,000 columns"), (properties, "10,000 properties"),
        (one_cell, "50,000,000 characters"), (one_line, "field limit|one column|delimiter"), (quoted, "field limit"),
        (deep, "not JSON"), (mixed, "mixed encodings"), (bomb, "unpack|size|bomb|times"),
        (partless, r"\.dbf|lacks|part"),
    ],
)  # fmt: skip
def test_a_file_made_to_hurt_gives_one_clear_problem_in_bounded_memory(
    tmp_path: Path, make: Callable[[], bytes], told: str
) -> None:
    path = tmp_path / "f"
    path.write_bytes(make())
    problem, rows, grown = opened(path)
    assert re.search(told, problem), problem
    assert "Traceback" not in problem
    assert rows == 0
    assert grown < MIB


def test_formulas_are_text_that_nobody_computes(tmp_path: Path) -> None:
    cells = ['=HYPERLINK("http://x","y")', "+1+1", "@SUM(A1:A9)", "-2+3", "=cmd|' /C calc'!A0"]
    rows = [[f"T{n}", f"{52 + n * 1e-4:.5f}", f"{4 + n * 2e-4:.5f}", cells[n % 5]] for n in range(100)]
    (tmp_path / "f.csv").write_bytes(_table([["id", "lat", "lon", "notes"], *rows]))
    source = open_source(tmp_path / "f.csv")
    table = convert(source, survey(source, NAMES).mapping)
    assert {table.texts["note"].at(row).removeprefix("notes: ") for row in range(100)} == set(cells)


def _geopackage(path: Path, *more: str) -> None:
    database = sqlite3.connect(path)
    database.executescript(
        "PRAGMA application_id = 1196444487;"
        "CREATE TABLE gpkg_contents (table_name TEXT, data_type TEXT, srs_id INTEGER);"
        "CREATE TABLE gpkg_geometry_columns"
        " (table_name TEXT, column_name TEXT, geometry_type_name TEXT, srs_id INTEGER);"
        "CREATE TABLE gpkg_spatial_ref_sys (srs_id INTEGER, organization TEXT, organization_coordsys_id INTEGER);"
        "CREATE TABLE trees (id INTEGER, species TEXT, geom BLOB);"
    )
    for name in ("trees", "endless", "searched"):
        database.execute("INSERT INTO gpkg_contents VALUES (?, 'features', 4326)", [name])
        database.execute("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', 'POINT', 4326)", [name])
    point = struct.pack("<2sBBi", b"GP", 0, 1, 4326) + struct.pack("<BIdd", 1, 1, 4.9, 52.4)
    database.executemany("INSERT INTO trees VALUES (?, 'Tilia cordata', ?)", [(n, point) for n in range(50)])
    for statement in more:
        database.execute(statement)
    database.commit()
    database.close()


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW endless AS WITH RECURSIVE n(id) AS (SELECT 1 UNION ALL SELECT id + 1 FROM n) SELECT id, 'x' AS"
        " species, NULL AS geom FROM n",
        "CREATE TRIGGER hurt AFTER INSERT ON trees BEGIN DELETE FROM trees; END",
        "CREATE VIRTUAL TABLE searched USING fts5(species, geom)",
        "CREATE INDEX odd ON trees (abs(id))",
    ],
)
def test_nothing_in_a_geopackage_runs(tmp_path: Path, statement: str) -> None:
    _geopackage(tmp_path / "f.gpkg", statement)
    before = (tmp_path / "f.gpkg").read_bytes()
    told, rows, grown = opened(tmp_path / "f.gpkg")
    assert (told, rows) == ("read", 50)
    assert grown < MIB
    assert (tmp_path / "f.gpkg").read_bytes() == before
    assert sorted(child.name for child in tmp_path.iterdir()) == ["f.gpkg"]


def test_a_generated_column_that_never_ends_is_stopped(tmp_path: Path) -> None:
    endless = "(SELECT count(*) FROM trees a, trees b, trees c, trees d, trees e, trees f)"
    _geopackage(tmp_path / "f.gpkg", f"CREATE VIEW endless AS SELECT id, {endless} AS species, geom FROM trees")
    told, rows, _ = opened(tmp_path / "f.gpkg")
    assert (told, rows) == ("read", 50)
