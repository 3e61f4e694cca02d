"""Pasadena's trees (1,013 features, upper case, genus and epithet apart, no trees among the species).

Counts by the json module alone; SOURCES.md has 13 exact duplicates and 167 diameters of zero.
"""

import json

from tests.support.inventories import features, judged, properties, reasons, roles

FILE = "pasadena_ca_trees_1013.geojson"
NO_TREE = ("NO ROOM", "ROOM FOR", "PLANTING SITE", "NO TREE", "PLANT SITE", "VACANT")


def test_the_survey_finds_roles_and_units() -> None:
    told = roles(FILE)
    expected = {
        "OBJECTID": ("key", ""), "Genus": ("genus", ""), "Species": ("epithet", ""), "Common_Name": ("common", ""),
        "House_Number": ("number", ""), "Street_Name": ("street", ""), "Street_Direction": ("street_part", ""),
        "Street_Type": ("street_part", ""), "Trunk_Diameter": ("dbh", "in"), "Latitude": ("latitude", ""),
        "Longitude": ("longitude", ""),
    }  # fmt: skip
    assert {heading: told.get(heading) for heading in expected} == expected


def test_rows_that_stand_twice_are_taken_once() -> None:
    distinct = {json.dumps(feature, sort_keys=True) for feature in features(FILE)}
    assert reasons(FILE)["duplicate"] == len(features(FILE)) - len(distinct) == 13


def test_zeros_are_unknown() -> None:
    assert reasons(FILE)["dbh_zero"] == sum(row["Trunk_Diameter"] == 0 for row in properties(FILE)) == 167


def test_places_that_are_no_trees_are_told_apart() -> None:
    state = judged(FILE).facts.state
    for row, given in enumerate(properties(FILE)):
        said = given["Genus"] or given["Common_Name"] or ""
        if said.startswith(NO_TREE):
            assert state.at(row) == "vacant", said
        if said == "STUMP":
            assert state.at(row) == "stump"
        if given["Species"] and said == "ULMUS":
            assert state.at(row) == "alive"


def test_a_street_is_put_together_from_its_parts() -> None:
    streets = judged(FILE).facts.table.texts["street"]
    parts = ("Street_Direction", "Street_Name", "Street_Type")
    for row, given in enumerate(properties(FILE)[:100]):
        assert streets.at(row) == " ".join(str(given[part]) for part in parts if given[part])
