"""Reads one layer of points of a Shapefile in a ZIP archive; only its own parts are unpacked, and only so much."""

import re
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, Any

import numpy as np
import pyogrio
import pyogrio.raw
from django.conf import settings

from inventory.intake.delimited import unique
from inventory.intake.geopackage import wkb_point
from inventory.intake.layout import BLOCK_ROWS, MAX_COLUMNS, Block, Layout
from inventory.problems import Invalid

# The .prj is kept from GDAL: it is text of a stranger. Its system is found by number, name or by the points.
PARTS = (".shp", ".shx", ".dbf", ".cpg")
MOST_MEMBERS = 1_000
# A table of text cells unpacks to some ten times its size; what unpacks to more is a bomb.
MOST_TIMES = 100
_CHUNK = 1 << 20
_NUMBER = re.compile(r'AUTHORITY\s*\[\s*"EPSG"\s*,\s*"?(\d{4,5})"?\s*\]\s*\]\s*$', re.IGNORECASE)
_NAME = re.compile(r'^\s*(?:PROJCS|GEOGCS|PROJCRS|GEOGCRS)\s*\[\s*"([^"]{1,100})"', re.IGNORECASE)
# Names as mapping software writes them, of systems whose names tell nothing by rule.
_NAMES = {
    "gcs_wgs_1984": 4326, "gcs_north_american_1983": 4269, "gcs_etrs_1989": 4258, "rgf_1993_lambert_93": 2154,
    "british_national_grid": 27700, "rd_new": 28992, "ch1903+_lv95": 2056, "belge_lambert_1972": 31370,
    "belge_lambert_2008": 3812, "sweref99_tm": 3006, "wgs_1984_web_mercator_auxiliary_sphere": 3857,
    "nad_1983_stateplane_new_york_long_island_fips_3104_feet": 2263,
    **{f"nad_1983_stateplane_california_{roman}_fips_040{n}_feet": 2224 + n
       for n, roman in enumerate(("i", "ii", "iii", "iv", "v", "vi"), 1)},
}  # fmt: skip
_UTM = re.compile(r"(wgs_1984|etrs_1989|nad_1983)_utm_zone_(\d{1,2})([ns])")
_UTM_FIRST = {("wgs_1984", "n"): 32600, ("wgs_1984", "s"): 32700, ("etrs_1989", "n"): 25800, ("nad_1983", "n"): 26900}


def lay_out(path: Path) -> Layout:
    """Find the layer: of several Shapefiles in the archive the largest. Raises Invalid."""
    with _archive(path) as archive:
        layers = _layers(archive)
        largest = max(layers, key=lambda name: (archive.getinfo(layers[name][".dbf"]).file_size, name))
    return Layout("shapefile", layer=largest)


def columns(path: Path, layout: Layout) -> list[str]:
    """The fields in their order, the geometry last. Raises Invalid."""
    with _unpacked(path, layout) as shp:
        fields = _info(shp)["fields"]
    if len(fields) > MAX_COLUMNS:
        raise Invalid.field("#/file", f"{len(fields):,} columns; at most {MAX_COLUMNS} are read")
    return unique(iter([*map(str, fields), "geometry"]))


def declared(path: Path, layout: Layout) -> str:
    """The system that the .prj names, by its EPSG number or a name known here; else the beginning of its text."""
    with _archive(path) as archive:
        prj = _parts(archive, layout).get(".prj")
        text = archive.open(prj).read(10_000).decode("utf-8", "replace") if prj else ""
    if number := _NUMBER.search(text):
        return f"EPSG:{number[1]}"
    name = _NAME.search(text)
    srid = _named(name[1].casefold()) if name else None
    return f"EPSG:{srid}" if srid else name[1] if name else ""


def _named(name: str) -> int | None:
    if zone := _UTM.fullmatch(name):
        first = _UTM_FIRST.get((zone[1], zone[3]))
        return first + int(zone[2]) if first else None
    return _NAMES.get(name)


def blocks(path: Path, layout: Layout, width: int) -> Iterator[Block]:
    """The rows in order; the line is the number of the row, from 1."""
    with _unpacked(path, layout) as shp:
        total, start = int(_info(shp)["features"]), 0
        while start < total:
            _, _, points, fields = _asked(shp, start)
            if not len(points):
                return
            cells = [_texts(column) for column in fields]
            cells.append(["" if raw is None else wkb_point(bytes(raw)) for raw in points])
            lines = np.arange(start + 1, start + 1 + len(points), dtype=np.int64)
            yield Block(lines, cells, np.zeros(len(points), bool))
            start += len(points)


def _info(shp: Path) -> dict[str, Any]:
    try:
        return dict(pyogrio.read_info(shp, layer=0, force_feature_count=True))
    except Exception as error:  # GDAL's errors have no common kind of their own
        raise _damaged(error) from error


def _asked(shp: Path, start: int) -> Any:
    try:
        return pyogrio.raw.read(shp, layer=0, skip_features=start, max_features=BLOCK_ROWS, datetime_as_string=True)
    except Exception as error:
        raise _damaged(error) from error


def _damaged(error: Exception) -> Invalid:
    told = re.sub(r"\S*/\S*", "the file", str(error))
    return Invalid.field("#/file", f"a Shapefile that cannot be read: {told:.200}")


def _texts(column: "np.ndarray[Any, Any]") -> list[str]:
    if column.dtype.kind == "f":
        # Fields of whole numbers with gaps come as floats.
        return ["" if v != v else str(int(v)) if v == int(v) and abs(v) < 1e15 else repr(v) for v in column.tolist()]
    return ["" if value is None or value != value else str(value) for value in column.tolist()]


@contextmanager
def _archive(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        raise Invalid.field("#/file", f"a ZIP archive that cannot be read: {error}") from error


def _layers(archive: zipfile.ZipFile) -> dict[str, dict[str, str]]:
    """The parts of each Shapefile: name of the layer -> ending -> name of the member. Raises Invalid."""
    members = archive.namelist()
    if len(members) > MOST_MEMBERS:
        raise Invalid.field("#/file", f"an archive of {len(members):,} files; at most {MOST_MEMBERS:,} are read")
    found: dict[str, dict[str, str]] = {}
    for member in members:
        path = PurePosixPath(member)
        found.setdefault(str(path.with_suffix("")), {})[path.suffix.casefold()] = member
    layers = {name: parts for name, parts in found.items() if {".shp", ".dbf"} <= set(parts)}
    if not layers:
        what = "a ZIP archive without a Shapefile (.shp and .dbf)"
        raise Invalid.field("#/file", f"this is {what}, or a spreadsheet: save the sheet as CSV")
    return layers


def _parts(archive: zipfile.ZipFile, layout: Layout) -> dict[str, str]:
    layers = _layers(archive)
    if layout.layer not in layers:
        told = ", ".join(map(repr, layers))
        raise Invalid.field("#/file/layer", f"the archive has no Shapefile {layout.layer!r}; it has {told:.500}")
    return layers[layout.layer]


@contextmanager
def _unpacked(path: Path, layout: Layout) -> Iterator[Path]:
    """The parts of the layer as files of a folder that goes away again; names of the archive are not used."""
    with tempfile.TemporaryDirectory() as folder:
        left = min(path.stat().st_size * MOST_TIMES, 10 * settings.UPLOAD_MAX_BYTES)
        with _archive(path) as archive:
            parts = _parts(archive, layout)
            for ending in PARTS:
                if ending in parts:
                    with archive.open(parts[ending]) as packed, (Path(folder) / f"layer{ending}").open("wb") as file:
                        left -= _copy(packed, file, left)
        yield Path(folder) / "layer.shp"


def _copy(packed: IO[bytes], file: IO[bytes], most: int) -> int:
    size = 0
    while chunk := packed.read(_CHUNK):
        size += len(chunk)
        if size > most:
            raise Invalid.field("#/file", f"the archive unpacks to more than {most:,} bytes: it is not read")
        file.write(chunk)
    return size
