"""Melbourne's trees (1,200 rows, genus only, centimetres, day first, southern hemisphere).

Counts by the csv module alone; SOURCES.md has a median of 67 and a largest diameter of 283 cm.
"""

from datetime import date

import numpy as np

from tests.support.inventories import found, judged, roles, rows

FILE = "melbourne_fitzroy_gardens_1200.csv"


def test_the_survey_finds_roles_and_units() -> None:
    assert roles(FILE) == {
        "Latitude": ("latitude", ""), "Longitude": ("longitude", ""), "Genus": ("genus", ""),
        "Date.Planted": ("planted", "dmy"), "Diameter.Breast.Height": ("dbh", "cm"), "Located.in": ("place", ""),
        "Year.Planted": ("planted_year", ""),
    }  # fmt: skip
    assert found(FILE).rows == len(rows(FILE)) == 1_200


def test_sizes_are_centimetres_and_days_come_first() -> None:
    table = judged(FILE).facts.table
    assert float(np.nanmedian(table.numbers["dbh_cm"])) == 67
    first = rows(FILE)[0]["Date.Planted"]
    day, month, year = map(int, first.split("/"))
    assert date.fromordinal(int(table.days["planted_from"][0])) == date(year, month, day)


def test_every_row_is_a_genus_south_of_the_equator() -> None:
    assert judged(FILE).counts()["species"]["genus"] == 1_200
    assert (judged(FILE).facts.table.numbers["lat"] < -37).all()


def test_days_that_their_own_year_denies_are_unknown() -> None:
    """SOURCES.md: 169 rows disagree, those without a date among them; 1899 and 1900 are placeholders."""
    pairs = [(row["Date.Planted"], row["Year.Planted"]) for row in rows(FILE)]
    denied = sum(bool(day) and day[-4:] != year for day, year in pairs)
    assert denied + sum(not day for day, _ in pairs) == 169
    assert judged(FILE).counts()["reasons"]["planted_disagrees"] == denied == 131
