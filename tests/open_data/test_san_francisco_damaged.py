"""San Francisco's list damaged by search and replace (1,000 rows): flagged, never guessed.

Counts by the csv module alone; SOURCES.md tells how genus names became digits, even inside words.
"""

from tests.support.inventories import found, judged, known, reasons, roles, rows

FILE = "san_francisco_mangled_first1000.csv"


def test_the_survey_finds_what_is_left_and_doubts_the_names() -> None:
    assert roles(FILE) == {
        "TreeID": ("key", ""), "qAddress": ("address", ""), "DBH": ("dbh", "in"), "PlotSize": ("strip_width", "ft"),
        "Latitude": ("latitude", ""), "Longitude": ("longitude", ""), "qSpecies": ("species", ""),
    }  # fmt: skip
    assert any("damaged" in doubt for doubt in found(FILE).doubts)


def test_exactly_the_mangled_names_are_flagged() -> None:
    """The carrier numbered the genera that it replaced: a column of 0 to 9, and 10 for genera that it left."""
    mangled = [line for line, row in enumerate(rows(FILE), 2) if row["Species"] not in ("10", "")]
    (flagged,) = [lines for check, lines, _ in judged(FILE).found if check.name == "name_damaged"]
    assert judged(FILE).facts.table.lines[flagged].tolist() == mangled
    assert len(mangled) == 616


def test_rows_without_a_place_are_refused() -> None:
    without = sum(not row["Latitude"] or not row["Longitude"] for row in rows(FILE))
    assert reasons(FILE)["no_coordinates"] == without
    assert judged(FILE).counts()["refused"] == without + reasons(FILE).get("far_from_the_others", 0)


def test_a_digit_for_a_genus_is_never_taken_for_one() -> None:
    for row in rows(FILE):
        latin = row["qSpecies"].partition("::")[0].strip()
        if latin[:1].isdigit():
            assert known().names.match(latin).how == "none", latin
