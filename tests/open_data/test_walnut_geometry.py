"""Walnut's geometries alone: degrees that were taken for metres of ESRI:102008, all of them in Kansas (SOURCES.md).

The truth is in the file's own lat and lon columns, which are left out here.
"""

import json
from pathlib import Path

import numpy as np

from inventory.intake.convert import convert
from inventory.intake.read import open_source
from inventory.intake.survey import survey
from tests.support.inventories import features, known

FILE = "walnut_ca_trees.geojson"


def test_the_places_come_back_without_the_columns_that_hold_them(tmp_path: Path) -> None:
    truth = [(f["properties"]["lon"], f["properties"]["lat"]) for f in features(FILE)]
    bare = [
        {**feature, "properties": {k: v for k, v in feature["properties"].items() if k not in ("lat", "lon")}}
        for feature in features(FILE)
    ]
    (tmp_path / "w.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": bare}))
    found = survey(open_source(tmp_path / "w.geojson"), known().names)
    assert found.mapping.taken_for == 102008
    numbers = convert(open_source(tmp_path / "w.geojson"), found.mapping).numbers
    lon, lat = np.array(truth, float).T
    both = np.isfinite(lon) & np.isfinite(lat) & np.isfinite(numbers["lon"])
    assert both.sum() > 2_900
    # A hundred-millionth of a degree of the geometry is a millimetre, which is a thousandth of a degree here.
    assert np.percentile(np.abs(numbers["lon"][both] - lon[both]), 99) < 1e-4
    assert np.percentile(np.abs(numbers["lat"][both] - lat[both]), 99) < 1e-4
