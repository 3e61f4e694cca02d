"""Caen's trees (1,820 features): degrees in the geometry, Lambert-93 in X and Y, a column "lat" that is an easting.

Counts by the json module alone; SOURCES.md has 157 rows without X and Y, and X and Y equal to the geometry to 1e-8.
"""

import numpy as np

from inventory.geo.transform import to_degrees
from tests.support.inventories import features, found, judged, roles

FILE = "caen_trees_lambert93.geojson"


def test_the_geometry_is_taken_and_the_column_that_lies_is_not() -> None:
    told = roles(FILE)
    assert told == {"NOM_RUE": ("street", ""), "CODE_VEGET": ("code", ""), "geometry": ("point", "lon_lat")}
    (place,) = [column for column in found(FILE).columns if column.role == "point"]
    assert "say the same" in place.evidence
    given = np.array([feature["geometry"]["coordinates"] for feature in features(FILE)])
    assert judged(FILE).facts.table.numbers["lon"].tolist() == given[:, 0].tolist()


def test_lambert_93_becomes_the_degrees_of_the_file() -> None:
    both = [f for f in features(FILE) if f["properties"]["X"]]
    assert len(features(FILE)) - len(both) == 157
    x, y = (np.array([feature["properties"][name] for feature in both]) for name in "XY")
    lon, lat = to_degrees(x, y, 2154)
    there = np.array([feature["geometry"]["coordinates"] for feature in both])
    assert np.abs(lon - there[:, 0]).max() < 1e-7
    assert np.abs(lat - there[:, 1]).max() < 1e-7


def test_a_file_without_species_says_so() -> None:
    assert any("species" in doubt for doubt in found(FILE).doubts)
