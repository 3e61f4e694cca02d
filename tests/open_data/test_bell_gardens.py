"""Bell Gardens' trees (7,127 features in feet of EPSG:2229): reprojected, classes kept, vacant sites told apart.

Counts by the json module alone; SOURCES.md has 2,546 vacant sites. The city lies about 33.97 N, 118.15 W.
"""

import numpy as np

from tests.support.inventories import features, found, judged, properties, roles

FILE = "bell_gardens_ca_trees_epsg2229.geojson"


def test_the_declared_feet_are_believed_because_they_fall_on_a_city() -> None:
    assert found(FILE).mapping.crs == 2229
    numbers = judged(FILE).facts.table.numbers
    assert np.abs(numbers["lat"] - 33.97).max() < 0.03
    assert np.abs(numbers["lon"] + 118.15).max() < 0.03
    assert judged(FILE).counts()["refused"] == 0


def test_the_survey_finds_roles_units_and_classes() -> None:
    told = roles(FILE)
    expected = {
        "INVENTORYI": ("key", ""), "BOTANICALN": ("species", ""), "species": ("common", ""), "ADDRESS": ("number", ""),
        "STREET": ("street", ""), "DBH": ("dbh_class", "in"), "height": ("height_class", "ft"),
        "MAINTENANC": ("recommendation", ""), "DATE": ("measured", "ymd"), "geometry": ("point", "lon_lat"),
    }  # fmt: skip
    assert {heading: told.get(heading) for heading in expected} == expected


def test_vacant_sites_are_no_trees() -> None:
    vacant = sum(1 for row in properties(FILE) if row["species"] == "VACANT SITE")
    assert judged(FILE).counts()["vacant_sites"] == vacant == 2_546
    assert judged(FILE).counts()["rows"] == len(features(FILE)) == 7_127
