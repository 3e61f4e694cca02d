"""GeoJSON feature collections, read back by GDAL through pyogrio as well as by the json module."""

import json
from pathlib import Path

import pyogrio
import pytest
from django.contrib.gis.geos import Point

from inventory.formats.geojson_writer import Feature, write


def features() -> list[Feature]:
    return [
        Feature("a", Point(-29.50000004, 45.123456789, srid=4326), {"name": 'Ä "quoted"', "size": 1.5}),
        Feature("b", None, {"name": None, "size": 2.0}),
    ]


def test_the_collection_is_valid_json_with_seven_decimals() -> None:
    found = json.loads(b"".join(write(features())))
    assert found["type"] == "FeatureCollection"
    assert [feature["id"] for feature in found["features"]] == ["a", "b"]
    assert found["features"][0]["geometry"] == {"type": "Point", "coordinates": [-29.5, 45.1234568]}
    assert found["features"][1]["geometry"] is None
    assert found["features"][0]["properties"]["name"] == 'Ä "quoted"'


def test_gdal_reads_the_same(tmp_path: Path) -> None:
    path = tmp_path / "order.geojson"
    path.write_bytes(b"".join(write(features())))
    meta, _, geometry, columns = pyogrio.raw.read(path)
    assert meta["crs"] == "EPSG:4326"
    fields = dict(zip(meta["fields"], columns, strict=True))
    assert list(fields["size"]) == [1.5, 2.0]
    assert geometry[1] is None


def test_an_empty_collection_is_a_collection() -> None:
    assert json.loads(b"".join(write([]))) == {"type": "FeatureCollection", "features": []}


def test_a_number_that_json_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON"):
        list(write([Feature("a", None, {"size": float("nan")})]))
