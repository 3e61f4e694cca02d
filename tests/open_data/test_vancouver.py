"""Vancouver's trees (5,000 rows, upper case, hybrid mark behind, heights as codes of classes, 581 rows twice).

Counts by the csv module alone; SOURCES.md has the same 581, 44 epithets "SPECIES", and the codes 0 to 10 as classes
of ten feet.
"""

import numpy as np
import pytest

from tests.support.inventories import found, judged, reasons, roles, rows

FILE = "vancouver_street_trees_5000.csv"


def test_the_survey_finds_roles_and_units() -> None:
    told = roles(FILE)
    expected = {
        "tree_id": ("key", ""), "genus_name": ("genus", ""), "species_name": ("epithet", ""),
        "cultivar_name": ("cultivar", ""), "common_name": ("common", ""), "diameter": ("dbh", "in"),
        "height_range_id": ("height_class", "ft"), "date_planted": ("planted", "ymd"), "civic_number": ("number", ""),
        "std_street": ("street", ""), "latitude": ("latitude", ""), "longitude": ("longitude", ""),
    }  # fmt: skip
    assert {heading: told.get(heading) for heading in expected} == expected
    assert found(FILE).rows == 5_000


def test_rows_that_stand_twice_are_taken_once() -> None:
    assert reasons(FILE)["duplicate"] == 5_000 - len({tuple(row.values()) for row in rows(FILE)}) == 581
    assert judged(FILE).counts()["trees"] == len({row["tree_id"] for row in rows(FILE)})


def test_a_code_of_a_height_class_is_ten_feet_wide() -> None:
    numbers = judged(FILE).facts.table.numbers
    codes = np.array([float(row["height_range_id"]) for row in rows(FILE)])
    assert numbers["height_low_m"][:50] == pytest.approx(codes[:50] * 3.048)
    assert numbers["height_high_m"][:50] == pytest.approx((codes[:50] + 1) * 3.048)
    assert np.isnan(numbers["height_m"]).all()


def test_the_impossible_maple_loses_its_diameter() -> None:
    row = next(n for n, given in enumerate(rows(FILE)) if float(given["diameter"]) == 182)
    assert np.isnan(judged(FILE).facts.table.numbers["dbh_cm"][row])
    assert reasons(FILE)["dbh_impossible_for_species"] >= 1


def test_nearly_all_species_are_matched() -> None:
    counts = judged(FILE).counts()
    assert counts["species"]["exact"] + counts["species"]["synonym"] > 0.95 * counts["trees"]
    assert sum(row["species_name"] == "SPECIES" for row in rows(FILE)) == 44
