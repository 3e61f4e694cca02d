"""GeoPackages and zipped Shapefiles: read by their content, hostile ones refused with one clear problem."""

import sqlite3
import struct
import zipfile
from pathlib import Path

import numpy as np
import pyogrio.raw
import pytest

from inventory.geo.transform import to_degrees
from inventory.intake import read
from inventory.intake.cells import point
from inventory.intake.layout import Layout
from inventory.intake.names import Catalogue
from inventory.intake.survey import survey
from inventory.problems import Invalid
from tests.support.open_data import open_data

COUNT = 40


def rows(source: read.Source) -> list[list[str]]:
    return [list(row) for block in source.blocks() for row in zip(*block.cells, strict=True)]


def written(path: Path, driver: str, layer: str, crs: str = "EPSG:28992") -> Path:
    """Points about Amsterdam in metres of the Dutch grid, written by the general library and not by us."""
    wkb = np.array([struct.pack("<BIdd", 1, 1, 121_000.5 + n, 487_000.25 + n) for n in range(COUNT)], object)
    fields = ["naam", "dikte", "gepl"]
    data = [np.array([f"iep {n}" for n in range(COUNT)], object), np.arange(COUNT) + 5.5, np.arange(COUNT) + 1980]
    pyogrio.raw.write(
        path, wkb, data, fields, driver=driver, layer=layer, geometry_type="Point", crs=crs, append=path.exists()
    )
    return path


def zipped(folder: Path, *extra: tuple[str, bytes]) -> Path:
    written(folder / "bomen.shp", "ESRI Shapefile", "bomen")
    with zipfile.ZipFile(folder / "upload", "w", zipfile.ZIP_DEFLATED) as archive:
        for part in folder.glob("bomen.*"):
            archive.write(part, f"map/{part.name}")
        for name, content in extra:
            archive.writestr(name, content)
    return folder / "upload"


def test_a_geopackage_is_read_whatever_its_name(tmp_path: Path) -> None:
    path = written(tmp_path / "f.gpkg", "GPKG", "bomen").rename(tmp_path / "upload")
    source = read.open_source(path)
    assert (source.layout.format, source.layout.layer, source.declared) == ("gpkg", "bomen", "EPSG:28992")
    assert source.columns == ["fid", "naam", "dikte", "gepl", "geometry"]
    assert rows(source)[2] == ["3", "iep 2", "7.5", "1982", "POINT (121002.5 487002.25)"]
    assert len(rows(source)) == COUNT


def test_a_zipped_shapefile_is_read_whatever_its_name(tmp_path: Path) -> None:
    source = read.open_source(zipped(tmp_path, ("map/readme.txt", b"hello")))
    assert (source.layout.format, source.layout.layer) == ("shapefile", "map/bomen")
    assert source.declared == "EPSG:28992"
    assert rows(source)[2] == ["iep 2", "7.5", "1982", "POINT (121002.5 487002.25)"]
    found = survey(source, Catalogue([]))
    assert found.mapping.crs == 28992


def test_the_coordinates_of_a_real_geopackage_are_those_of_its_twin_in_degrees() -> None:
    """The same addresses, published in the Dutch grid and in degrees (see SOURCES.md)."""
    found = {}
    for srid in (28992, 4326):
        source = read.open_source(open_data(f"interchange/dutch_addresses_{srid}.gpkg"))
        assert source.declared == f"EPSG:{srid}"
        cells = [row[-1] for row in rows(source)]
        found[srid] = np.array([point(cell, "lon_lat") for cell in cells], float)
    lon, lat = to_degrees(found[28992][:, 0], found[28992][:, 1], 28992)
    assert len(lon) == len(found[4326]) > 100
    # A millionth of a degree is 0.11 m; without the national grid shift the formula is good to a quarter of a metre.
    assert np.abs(lon - found[4326][:, 0]).max() < 4e-6
    assert np.abs(lat - found[4326][:, 1]).max() < 4e-6


def test_a_layer_is_chosen_by_its_rows_and_may_be_named(tmp_path: Path) -> None:
    path = written(tmp_path / "f.gpkg", "GPKG", "a_bomen")
    written(path, "GPKG", "b_palen")
    with sqlite3.connect(path) as database:
        database.create_function("ST_IsEmpty", 1, lambda _: 0)
        for name in ("ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"):
            database.create_function(name, 1, lambda _: 0.0)
        database.execute("DELETE FROM b_palen WHERE fid > 3")
    database.close()
    source = read.open_source(path)
    assert source.layout.layer == "a_bomen"
    other = read.open_source(path, Layout("gpkg", layer="b_palen"))
    assert len(rows(other)) == 3
    with pytest.raises(Invalid, match="no layer of points 'palen'"):
        read.open_source(path, Layout("gpkg", layer="palen"))


def test_a_table_that_is_a_view_is_not_read(tmp_path: Path) -> None:
    path = written(tmp_path / "f.gpkg", "GPKG", "bomen")
    with sqlite3.connect(path) as database:
        database.execute("ALTER TABLE bomen RENAME TO hidden")
        database.execute("CREATE VIEW bomen AS SELECT * FROM hidden")
        database.execute("UPDATE gpkg_contents SET table_name = 'bomen'")
    database.close()
    with pytest.raises(Invalid):
        rows(read.open_source(path))


def test_a_plain_database_and_a_damaged_one_are_refused(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "plain") as database:
        database.execute("CREATE TABLE trees (a, b)")
    database.close()
    with pytest.raises(Invalid, match="no GeoPackage"):
        read.open_source(tmp_path / "plain")
    path = written(tmp_path / "f.gpkg", "GPKG", "bomen")
    raw = path.read_bytes()
    path.write_bytes(raw[:100] + b"\xff" * (len(raw) - 100))
    with pytest.raises(Invalid, match="cannot be read"):
        read.open_source(path)


def test_an_archive_that_unpacks_to_too_much_is_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "bomb", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.shp", b"\0" * 60_000_000)
        archive.writestr("a.dbf", b"\0" * 60_000_000)
    assert (tmp_path / "bomb").stat().st_size < 200_000
    with pytest.raises(Invalid, match="unpacks to more than"):
        read.open_source(tmp_path / "bomb")


@pytest.mark.parametrize(
    ("members", "told"),
    [
        ({"xl/workbook.xml": b"<x/>"}, "spreadsheet"),
        ({"a.shp": b"", "a.dbf": b""}, "cannot be read"),
        ({"a.shp": b"\0" * 200, "a.dbf": b"\0" * 200}, "cannot be read"),
        ({f"{n}.txt": b"" for n in range(1_001)}, "at most 1,000"),
        ({"../../a.shp": b"x", "../../a.dbf": b"y"}, "cannot be read"),
    ],
)
def test_a_hostile_archive_gives_one_clear_problem(tmp_path: Path, members: dict[str, bytes], told: str) -> None:
    with zipfile.ZipFile(tmp_path / "f", "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    with pytest.raises(Invalid, match=told) as refused:
        rows(read.open_source(tmp_path / "f"))
    assert [error.pointer for error in refused.value.errors] == ["#/file"]
    assert str(tmp_path.parent) not in str(refused.value)
