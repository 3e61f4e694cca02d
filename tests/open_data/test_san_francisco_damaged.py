"""San Francisco's list damaged by search and replace (1,000 rows): flagged, never guessed.

Counts by the csv module alone; SOURCES.md tells how genus names became digits, even inside words.
"""

from tests.support.inventories import found, judged, known, reasons, roles, rows

FILE = "san_francisco_mangled_first1000.csv"


def test_the_survey_finds_what_is_left_and_no_species() -> None:
    assert roles(FILE) == {
        "TreeID": ("key", ""), "qAddress": ("address", ""), "DBH": ("dbh", "in"), "PlotSize": ("strip_width", "ft"),
        "Latitude": ("latitude", ""), "Longitude": ("longitude", ""),
    }  # fmt: skip
    assert "no column names the species" in found(FILE).doubts
    assert reasons(FILE)["no_species"] == len(rows(FILE)) == 1_000


def test_rows_without_a_place_are_refused() -> None:
    without = sum(not row["Latitude"] or not row["Longitude"] for row in rows(FILE))
    assert reasons(FILE)["no_coordinates"] == without
    assert judged(FILE).counts()["refused"] == without + reasons(FILE).get("far_from_the_others", 0)


def test_a_digit_for_a_genus_is_never_taken_for_one() -> None:
    for row in rows(FILE):
        latin = row["qSpecies"].partition("::")[0].strip()
        if latin[:1].isdigit():
            assert known().names.match(latin).how == "none", latin
