"""New York's trees, with a heading (500 rows) and without one (10,189): the same columns, told by their values.

Counts by the csv module alone; SOURCES.md has Alive 9,738, Dead 227, Stump 224, diameters of zero 229, and that the
geometry is WKT in one file and a printed mapping in the other.
"""

import csv
from collections import Counter
from functools import cache

import numpy as np
import pytest

from tests.support.inventories import found, judged, reasons, roles, rows
from tests.support.open_data import open_data

FILE, BARE = "nyc_2015_census_500.csv", "nyc_2015_census_10189_noheader.csv"


@cache
def bare() -> list[list[str]]:
    with open_data(f"inventories/{BARE}").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def test_the_survey_of_the_headed_file_finds_roles_and_units() -> None:
    told = roles(FILE)
    expected = {
        "created_at": ("measured", "mdy"), "tree_id": ("key", ""), "tree_dbh": ("dbh", "in"), "status": ("state", ""),
        "health": ("condition", ""), "spc_latin": ("species", ""), "spc_common": ("common", ""),
        "address": ("address", ""), "latitude": ("latitude", ""), "longitude": ("longitude", ""),
    }  # fmt: skip
    assert {heading: told.get(heading) for heading in expected} == expected
    (place,) = [column for column in found(FILE).columns if column.role == "latitude"]
    assert "'the_geom'" in place.evidence
    assert "'x_sp and y_sp'" in place.evidence


def test_without_a_heading_the_values_tell_most() -> None:
    assert not found(BARE).mapping.layout.header
    assert found(BARE).rows == len(bare()) == 10_189
    names = list(rows(FILE)[0])
    told = {names[int(heading.removeprefix("column ")) - 1]: role for heading, (role, _) in roles(BARE).items()}
    assert told == {
        "created_at": "measured", "tree_id": "key", "the_geom": "point", "tree_dbh": "dbh", "status": "state",
        "health": "condition", "spc_latin": "species", "spc_common": "common", "address": "address",
        "curb_loc": "place",
    }  # fmt: skip
    assert any("column 5" in doubt for doubt in found(BARE).doubts)


def test_states_and_sizes_of_the_bare_file() -> None:
    status = Counter(row[7] for row in bare())
    facts = judged(BARE).facts
    assert (int(facts.is_state("dead").sum()), int(facts.is_state("stump").sum())) == (status["Dead"], status["Stump"])
    assert (status["Alive"], status["Dead"], status["Stump"]) == (9_738, 227, 224)
    assert reasons(BARE)["dbh_zero"] == sum(float(row[4]) == 0 for row in bare()) == 229
    assert facts.table.numbers["dbh_cm"][0] == pytest.approx(float(bare()[0][4]) * 2.54)


def test_the_points_are_those_of_the_degrees() -> None:
    numbers = judged(BARE).facts.table.numbers
    lat, lon = (np.array([float(row[place]) for row in bare()]) for place in (38, 39))
    assert np.abs(numbers["lat"] - lat).max() < 1e-7
    assert np.abs(numbers["lon"] - lon).max() < 1e-7
