"""Walnut's trees (2,976 features): every geometry is one far point, the lat and lon columns are right.

Counts by the json module alone; SOURCES.md has the geometry at -96.0015, 40.0003 (degrees taken for metres) and
24 columns without any value. The city lies about 34.02 N, 117.86 W.
"""

import numpy as np

from tests.support.inventories import features, found, judged, properties, roles

FILE = "walnut_ca_trees.geojson"


def test_the_columns_are_taken_and_the_geometry_is_told() -> None:
    told = roles(FILE)
    assert (told["lat"][0], told["lon"][0]) == ("latitude", "longitude")
    assert "geometry" not in told
    far = [f for f in features(FILE) if abs(f["geometry"]["coordinates"][0] + 96.0015) < 0.001]
    assert len(far) == found(FILE).rows == 2_976
    assert any("'geometry': all points lie at -96.0015, 40.0003" in doubt for doubt in found(FILE).doubts)
    numbers = judged(FILE).facts.table.numbers
    assert np.abs(numbers["lat"] - 34.02).max() < 0.1
    assert np.abs(numbers["lon"] + 117.86).max() < 0.1


def test_classes_and_names_are_understood_and_empty_columns_left() -> None:
    told = roles(FILE)
    assert (told["DBH"], told["height"]) == (("dbh_class", "in"), ("height_class", "ft"))
    assert (told["BotanicalN"][0], told["species"][0]) == ("species", "common")
    assert (told["Address"][0], told["Street"][0]) == ("number", "street")
    empty = [name for name in properties(FILE)[0] if not any(row[name] for row in properties(FILE))]
    assert len(empty) == 24
    assert told.keys().isdisjoint(empty)


def test_vacant_sites_are_no_trees() -> None:
    vacant = sum(1 for row in properties(FILE) if "VACANT" in (row["species"] or "").upper())
    assert judged(FILE).counts()["vacant_sites"] == vacant > 0
