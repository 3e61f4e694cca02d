"""Artesia's trees (2,950 features, classes of size, vacant sites): understood and judged without help.

The counts are made here by the json module alone; SOURCES.md has the same: 1,120 vacant sites, 34 of 245 measured
stems outside their own class, 103 trees on another tree's point.
"""

import math
from collections import Counter

import pytest

from tests.support.inventories import features, found, judged, properties, reasons, roles

FILE = "artesia_ca_trees.geojson"


def test_the_survey_finds_roles_units_and_classes() -> None:
    told = roles(FILE)
    expected = {
        "INVENTORYI": ("key", ""), "BOTANICALN": ("species", ""), "species": ("common", ""), "ADDRESS": ("number", ""),
        "STREET": ("street", ""), "DBH": ("dbh_class", "in"), "height": ("height_class", "ft"),
        "ACTUALDBH": ("dbh", "in"), "RECOMMENDE": ("recommendation", ""), "DATEMODIFI": ("measured", "mdy"),
        "PARKWAY": ("strip_width", "ft"), "geometry": ("point", "lon_lat"),
    }  # fmt: skip
    assert {heading: told.get(heading) for heading in expected} == expected
    assert found(FILE).rows == len(features(FILE)) == 2_950


def test_vacant_sites_are_no_trees() -> None:
    vacant = sum(1 for row in properties(FILE) if row["species"] == "VACANT SITE")
    assert judged(FILE).counts()["vacant_sites"] == vacant == 1_120
    assert judged(FILE).counts()["trees"] == 2_950 - 1_120


def test_stems_outside_their_own_class_are_told() -> None:
    ends = {"0-6": (0, 6), "07-12": (7, 12), "13-18": (13, 18), "19-24": (19, 24), "25-30": (25, 30), "31+": (31, 999)}
    measured = [row for row in properties(FILE) if row["ACTUALDBH"] and row["DBH"] in ends]
    outside = [row for row in measured if not ends[row["DBH"]][0] <= float(row["ACTUALDBH"]) <= ends[row["DBH"]][1]]
    assert reasons(FILE)["dbh_outside_class"] == len(outside) == 34


def test_classes_become_intervals_in_centimetres_and_no_size() -> None:
    numbers = judged(FILE).facts.table.numbers
    for row, given in enumerate(properties(FILE)[:200]):
        if given["DBH"] == "07-12" and not given["ACTUALDBH"]:
            assert numbers["dbh_low_cm"][row] == pytest.approx(7 * 2.54)
            assert numbers["dbh_high_cm"][row] == pytest.approx(12 * 2.54)
            assert math.isnan(numbers["dbh_cm"][row])


def test_trees_on_one_point_are_told() -> None:
    points = Counter(tuple(feature["geometry"]["coordinates"]) for feature in features(FILE))
    assert reasons(FILE)["several_on_one_point"] == sum(times for times in points.values() if times > 1)


def test_the_recommended_work_is_kept_in_the_citys_words_and_ours() -> None:
    notes = judged(FILE).facts.table.texts["note"]
    assert sum(notes.at(row) == "RECOMMENDE: Grid/Routine Trim [prune]" for row in range(2_950)) == 1_807
