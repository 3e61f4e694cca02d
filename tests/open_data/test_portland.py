"""Portland's trees (676 rows, EWKB in hexadecimal, field names cut off, species codes beside the names).

Counts by the csv and struct modules alone; SOURCES.md has diameters from 2.1 to 19.2 inches and no zeros.
"""

import struct

import pytest

from tests.support.inventories import found, judged, reasons, roles, rows

FILE = "portland_street_trees_676.csv"


def test_the_survey_finds_roles_and_units() -> None:
    told = roles(FILE)
    expected = {
        "the_geom": ("point", "lon_lat"), "objectid": ("key", ""), "date_inven": ("measured", "ymd"),
        "dbh": ("dbh", "in"), "condition": ("condition", ""), "site_type": ("place", ""),
        "site_width": ("strip_width", "ft"), "address": ("address", ""), "scientific": ("species", ""),
        "common": ("common", ""), "species": ("code", ""),
    }  # fmt: skip
    assert told == expected
    assert found(FILE).rows == len(rows(FILE)) == 676


def test_points_are_those_of_the_binary_form() -> None:
    numbers = judged(FILE).facts.table.numbers
    for row, given in enumerate(rows(FILE)[:100]):
        lon, lat = struct.unpack("<dd", bytes.fromhex(given["the_geom"])[9:])
        assert (numbers["lon"][row], numbers["lat"][row]) == (lon, lat)


def test_sizes_are_in_centimetres_and_none_is_zero() -> None:
    given = [float(row["dbh"]) for row in rows(FILE)]
    assert (min(given), max(given)) == (2.1, 19.2)
    assert judged(FILE).facts.table.numbers["dbh_cm"].tolist() == pytest.approx([2.54 * size for size in given])
    assert "dbh_zero" not in reasons(FILE)


def test_a_genus_with_sp_is_matched_as_a_genus() -> None:
    genus = sum(row["scientific"].endswith("spp.") for row in rows(FILE))
    counts = judged(FILE).counts()["species"]
    assert counts["genus"] == genus == 511
    assert counts["none"] == 0
