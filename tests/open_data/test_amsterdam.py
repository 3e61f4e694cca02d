"""Amsterdam's trees in two files (2,216 and 1,099 rows): Dutch headings, height classes in words, year 0, swapped WKT.

Counts by the csv module alone; SOURCES.md has the year 0 on 92 and 127 rows.
"""

import math

import numpy as np
import pytest

from tests.support.inventories import found, judged, roles, rows

FILES = {"amsterdam_ijburg_trees.csv": 92, "amsterdam_wallengebied_trees.csv": 127}


@pytest.mark.parametrize("name", FILES)
def test_the_survey_finds_roles_and_units(name: str) -> None:
    assert roles(name) == {
        "OBJECTNUMMER": ("key", ""), "Soortnaam_NL": ("common", ""), "Soortnaam_WTS": ("species", ""),
        "Boomhoogte": ("height_class", "m"), "Plantjaar": ("planted", "year"), "LNG": ("longitude", ""),
        "LAT": ("latitude", ""),
    }  # fmt: skip
    (place,) = [column for column in found(name).columns if column.role == "latitude"]
    assert "'WKT_LAT_LNG', 'WKT_LNG_LAT' say the same" in place.evidence


@pytest.mark.parametrize(("name", "zeros"), FILES.items())
def test_the_year_zero_is_unknown(name: str, zeros: int) -> None:
    given = [row["Plantjaar"] for row in rows(name)]
    assert given.count("0") == zeros
    planted = judged(name).facts.table.days["planted_from"]
    assert [int(day) for day, year in zip(planted, given, strict=True) if year == "0"] == [-1] * zeros


@pytest.mark.parametrize("name", FILES)
def test_height_classes_in_words_become_intervals(name: str) -> None:
    numbers = judged(name).facts.table.numbers
    ends = {"tot 6 m.": (0, 6), "6 tot 9 m.": (6, 9), "9 tot 12 m.": (9, 12), "24 m. en hoger": (24, math.nan)}
    seen = 0
    for row, given in enumerate(rows(name)):
        if given["Boomhoogte"] in ends:
            pair = (numbers["height_low_m"][row], numbers["height_high_m"][row])
            assert pair == pytest.approx(ends[given["Boomhoogte"]], nan_ok=True)
            seen += 1
    assert seen > 300
    unknown = np.array([row["Boomhoogte"] == "Onbekend" for row in rows(name)])
    assert np.isnan(numbers["height_low_m"][unknown]).all()
