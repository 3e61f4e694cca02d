"""Malibu's trees (7,448 features without any diameter): height in feet, condition, stumps among the conditions.

Counts by the json module alone; SOURCES.md has 122 "Stump Removal", 119 "Dead", 13 heights of zero, and that x and y
in EPSG:2229 give the geometry to 1e-13 degrees.
"""

import numpy as np
import pytest

from inventory.geo.transform import to_degrees
from tests.support.inventories import features, found, judged, properties, reasons, roles

FILE = "malibu_ca_trees.geojson"


def test_the_survey_finds_roles_and_units() -> None:
    told = roles(FILE)
    expected = {
        "Exact_Heig": ("height", "ft"), "Condition": ("condition", ""), "Botanical_": ("species", ""),
        "species": ("common", ""), "geometry": ("point", "lon_lat"),
    }  # fmt: skip
    assert told == expected
    (point,) = [column for column in found(FILE).columns if column.heading == "geometry"]
    assert "'x and y' say the same" in point.evidence


def test_feet_of_the_state_plane_become_the_degrees_of_the_file() -> None:
    given = features(FILE)
    x, y = (np.array([feature["properties"][name] for feature in given]) for name in "xy")
    lon, lat = to_degrees(x, y, 2229)
    there = np.array([feature["geometry"]["coordinates"] for feature in given])
    assert np.abs(lon - there[:, 0]).max() < 1e-9
    assert np.abs(lat - there[:, 1]).max() < 1e-9


def test_heights_are_feet_and_zero_is_unknown() -> None:
    heights = [row["Exact_Heig"] for row in properties(FILE)]
    assert reasons(FILE)["height_zero"] == heights.count(0) == 13
    ours = judged(FILE).facts.table.numbers["height_m"]
    assert ours[0] == pytest.approx(heights[0] * 0.3048)


def test_the_dead_and_the_stumps_are_told_from_the_condition() -> None:
    facts = judged(FILE).facts
    stumps = [r["Condition"] == "Stump Removal" or "stump" in (r["Botanical_"] or "").lower() for r in properties(FILE)]
    assert facts.is_state("stump").tolist() == stumps
    dead = [row["Condition"] == "Dead" and not stump for row, stump in zip(properties(FILE), stumps, strict=True)]
    assert facts.is_state("dead").tolist() == dead
    assert [row["Condition"] for row in properties(FILE)].count("Dead") == 119
