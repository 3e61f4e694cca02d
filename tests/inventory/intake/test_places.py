"""Where the trees of a file are: every system, order and form found by where the points would fall."""

import csv
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from django.conf import LazySettings
from django.contrib.gis.gdal import CoordTransform, SpatialReference
from django.contrib.gis.geos import Point

from inventory.geo.crs import ALLOWED
from inventory.geo.transform import area, distortion, from_degrees, is_geographic, to_degrees
from inventory.intake.convert import convert
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.survey import Survey, survey

# A point in the middle of each: Paris, Los Angeles, Amsterdam, Melbourne (degrees from general knowledge).
PARIS, ANGELES, AMSTERDAM, MELBOURNE = (2.35, 48.86), (-118.2, 34.03), (4.9, 52.37), (144.97, -37.81)
NAMES = Catalogue([("Tilia cordata", "Tilia cordata", "accepted", "la")])
COUNT = 300


def degrees(middle: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """Points within some three kilometres."""
    rng = np.random.default_rng(3)
    return middle[0] + rng.normal(0, 0.01, COUNT), middle[1] + rng.normal(0, 0.01, COUNT)


def surveyed(path: Path, columns: dict[str, list[str]]) -> Survey:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "species", *columns])
        writer.writerows(
            [str(n), "Tilia cordata", *cells] for n, cells in enumerate(zip(*columns.values(), strict=True))
        )
    return survey(open_source(path), NAMES)


def placed(path: Path, found: Survey) -> tuple[np.ndarray, np.ndarray]:
    table = convert(open_source(path), found.mapping)
    return table.numbers["lon"], table.numbers["lat"]


def roles(found: Survey) -> dict[str, str]:
    return {column.heading: column.role for column in found.columns[2:]}


def text(values: np.ndarray) -> list[str]:
    return [repr(float(value)) for value in values]


@pytest.mark.parametrize("srid", sorted(ALLOWED))
def test_every_allowed_system_goes_there_and_back_within_its_area(srid: int) -> None:
    west, south, east, north = area(srid) or (-180.0, -80.0, 180.0, 80.0)
    middle = (west + east) / 2 if west <= east else west + 1
    lon, lat = np.array([middle]), np.array([(south + north) / 2])
    again = to_degrees(*from_degrees(lon, lat, srid), srid)
    assert (again[0][0], again[1][0]) == pytest.approx((lon[0], lat[0]), abs=1e-6)


def test_utm_puts_the_middle_of_its_zone_at_500_km_and_shrinks_it_by_four_parts_in_ten_thousand() -> None:
    # Universal Transverse Mercator: false easting 500,000 m, scale 0.9996 (DMA TM 8358.2).
    x, y = from_degrees(np.array([3.0]), np.array([0.0]), 32631)
    assert (x[0], y[0]) == pytest.approx((500_000, 0), abs=1e-6)
    assert distortion(3.0, 48.0, 32631) < 0.006
    assert not is_geographic(32631)


def test_points_that_have_no_place_are_nan_and_spoil_no_others() -> None:
    lon, lat = to_degrees(
        np.array([650_000.0, np.nan, 1e300, 651_000.0]), np.array([6_862_000.0, 1, 1e300, np.inf]), 2154
    )
    assert np.isfinite([lon[0], lat[0]]).all()
    assert np.isnan([lon[1], lon[3]]).all()


@pytest.mark.parametrize(
    ("srid", "metric", "middle", "headings"),
    [
        (2154, 32631, PARIS, ("X", "Y")),
        (2154, 32631, PARIS, ("Y", "X")),
        (2229, 32611, ANGELES, ("x_coord", "y_coord")),
        (28992, 32631, AMSTERDAM, ("x_rd", "y_rd")),
        (27700, 32630, (-1.5, 53.8), ("Easting", "Northing")),
        (2056, 32632, (7.44, 46.95), ("Ostwert", "Nordwert")),
    ],
)
def test_undeclared_metres_and_feet_are_found_by_where_they_fall(
    tmp_path: Path,
    settings: LazySettings,
    srid: int,
    metric: int,
    middle: tuple[float, float],
    headings: tuple[str, str],
) -> None:
    settings.METRIC_SRID = metric
    lon, lat = degrees(middle)
    x, y = from_degrees(lon, lat, srid)
    cells = dict(
        zip(headings, (text(x), text(y)) if headings[0].lower()[0] in "xeo" else (text(y), text(x)), strict=True)
    )
    found = surveyed(tmp_path / "f.csv", cells)
    ours = placed(tmp_path / "f.csv", found)
    if found.mapping.crs == srid:
        assert np.abs(ours[0] - lon).max() < 1e-6
        assert np.abs(ours[1] - lat).max() < 1e-6
    # Neighbouring zones count alike from their own middles: what no evidence settles is told with its rivals.
    rivals = [doubt for doubt in found.doubts if "file.crs" in doubt]
    assert found.mapping.crs == srid or f"EPSG:{srid}" in rivals[0]
    known = survey(open_source(tmp_path / "f.csv"), NAMES, near=middle)
    ours = placed(tmp_path / "f.csv", known)
    assert np.abs(ours[0] - lon).max() < 1e-4
    assert np.abs(ours[1] - lat).max() < 1e-4
    assert set(roles(found).values()) == {"easting", "northing"}


def test_degrees_of_the_same_rows_settle_the_system(tmp_path: Path) -> None:
    lon, lat = degrees(ANGELES)
    x, y = from_degrees(lon, lat, 2229)
    found = surveyed(tmp_path / "f.csv", {"lat": text(lat), "lon": text(lon), "x": text(x), "y": text(y)})
    assert roles(found) == {"lat": "latitude", "lon": "longitude", "x": "ignored", "y": "ignored"}
    assert "'x and y' say the same" in found.columns[2].evidence


def test_a_heading_that_lies_does_not_decide(tmp_path: Path) -> None:
    lon, lat = degrees(ANGELES)
    found = surveyed(tmp_path / "f.csv", {"latitude": text(lon), "longitude": text(lat)})
    assert roles(found) == {"latitude": "longitude", "longitude": "latitude"}
    assert "other way round" in found.columns[2].evidence
    ours = placed(tmp_path / "f.csv", found)
    assert ours[0].tolist() == lon.tolist()


FORMS: list[tuple[str, Callable[[float, float], str]]] = [
    ("WKT", lambda lon, lat: f"POINT ({lon!r} {lat!r})"),
    ("WKT with height", lambda lon, lat: f"SRID=4326;POINT Z ({lon!r} {lat!r} 12.5)"),
    ("EWKB", lambda lon, lat: struct.pack("<BIIdd", 1, 0x20000001, 4326, lon, lat).hex().upper()),
    ("WKB, big-endian", lambda lon, lat: struct.pack(">BIdd", 0, 1, lon, lat).hex()),
    ("EWKB with height", lambda lon, lat: struct.pack("<BIIddd", 1, 0xA0000001, 4326, lon, lat, 3.0).hex()),
    ("GeoJSON", lambda lon, lat: f'{{"type": "Point", "coordinates": [{lon!r}, {lat!r}]}}'),
    ("printed mapping", lambda lon, lat: f"{{'type': 'Point', 'coordinates': [{lon!r}, {lat!r}]}}"),
    ("named", lambda lon, lat: f"{{'latitude': '{lat!r}', 'longitude': '{lon!r}'}}"),
    ("pair", lambda lon, lat: f"({lat!r}, {lon!r})"),
]


@pytest.mark.parametrize(("form", "write"), FORMS, ids=[form for form, _ in FORMS])
def test_a_cell_with_both_is_read_in_every_form(
    tmp_path: Path, form: str, write: Callable[[float, float], str]
) -> None:
    lon, lat = degrees(MELBOURNE)
    found = surveyed(
        tmp_path / "f.csv", {"where": [write(*pair) for pair in zip(lon.tolist(), lat.tolist(), strict=True)]}
    )
    assert roles(found) == {"where": "point"}, form
    ours = placed(tmp_path / "f.csv", found)
    assert ours[0].tolist() == lon.tolist()
    assert ours[1].tolist() == lat.tolist()


def test_axes_swapped_in_a_cell_are_told_by_the_other_columns(tmp_path: Path) -> None:
    lon, lat = degrees(AMSTERDAM)
    swapped = [f"POINT ({b!r} {a!r})" for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]
    found = surveyed(tmp_path / "f.csv", {"geom": swapped, "lng": text(lon), "lat": text(lat)})
    assert roles(found) == {"geom": "ignored", "lng": "longitude", "lat": "latitude"}
    assert "'geom' say the same" in found.columns[3].evidence


def test_one_point_for_all_is_no_place(tmp_path: Path) -> None:
    lon, lat = degrees(ANGELES)
    lump = [f"POINT ({-96.0015 + n * 1e-9!r} {40.0003 + n * 1e-9!r})" for n in range(COUNT)]
    found = surveyed(tmp_path / "f.csv", {"geom": lump, "lat": text(lat), "lon": text(lon)})
    assert roles(found) == {"geom": "ignored", "lat": "latitude", "lon": "longitude"}
    assert any("all points lie at" in doubt for doubt in found.doubts)


def test_a_wrong_declaration_is_told(tmp_path: Path) -> None:
    lon, lat = degrees(ANGELES)
    x, y = from_degrees(lon, lat, 2229)
    features = ",".join(
        f'{{"type":"Feature","properties":{{"id":{n}}},"geometry":{{"type":"Point","coordinates":[{a!r},{b!r}]}}}}'
        for n, (a, b) in enumerate(zip(x.tolist(), y.tolist(), strict=True))
    )
    crs = '"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},'
    path = tmp_path / "f.geojson"
    path.write_text(f'{{"type":"FeatureCollection",{crs}"features":[{features}]}}')
    found = survey(open_source(path), NAMES, near=ANGELES)
    assert any("declares" in doubt for doubt in found.doubts)
    ours = placed(path, found)
    assert np.abs(ours[0] - lon).max() < 0.001
    assert np.abs(ours[1] - lat).max() < 0.001


def test_columns_that_are_no_coordinates_are_not_taken_for_some(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    found = surveyed(
        tmp_path / "f.csv", {"height": text(rng.uniform(3, 30, COUNT)), "x": text(rng.uniform(0, 9, COUNT))}
    )
    assert any("no coordinates" in doubt for doubt in found.doubts)


@pytest.mark.parametrize(
    ("srid", "middle"), [(3857, PARIS), (32631, AMSTERDAM), (102008, ANGELES), (2154, PARIS), (28992, AMSTERDAM)]
)
@pytest.mark.parametrize("turned", [False, True])
def test_degrees_that_were_taken_for_metres_are_taken_back(
    tmp_path: Path, settings: LazySettings, srid: int, middle: tuple[float, float], turned: bool
) -> None:
    """What PROJ makes of degrees given as metres: a lump of points at the system's origin, and nothing beside it."""
    settings.METRIC_SRID = {PARIS: 32631, AMSTERDAM: 32631, ANGELES: 32611}[middle]
    lon, lat = degrees(middle)
    source = SpatialReference(f"ESRI:{srid}" if srid > 100_000 else srid)
    points = [Point(float(x), float(y), srid=4326) for x, y in zip(lon, lat, strict=True)]
    route = CoordTransform(source, SpatialReference(4326))
    for point in points:
        point.transform(route)
    cells = {"lat": [repr(p.y) for p in points], "lon": [repr(p.x) for p in points]}
    if turned:
        cells = {"point": [f"POINT ({p.x!r} {p.y!r})" for p in points]}
    found = surveyed(tmp_path / "f.csv", cells)
    ours = placed(tmp_path / "f.csv", found)
    assert found.mapping.taken_for, found.doubts
    # Far outside its area PROJ itself comes back with some micrometres, each of them a millionth of a degree here.
    near = 2e-4 if srid == 28992 else 1e-6
    assert np.abs(ours[0] - lon).max() < near
    assert np.abs(ours[1] - lat).max() < near
    assert any("taken for metres" in doubt for doubt in found.doubts)
