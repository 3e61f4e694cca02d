"""A campus's trees of 2019 (9,022 rows, inches, "Malus species" for a genus, keys that repeat, names misspelt).

Counts by the csv module alone; SOURCES.md has 11 repeated keys and 28 diameters of zero.
"""

from tests.support.inventories import judged, reasons, roles, rows

FILE = "cornell_campus_trees_2019.csv"


def test_the_survey_finds_roles_and_units() -> None:
    assert roles(FILE) == {
        "longitude": ("longitude", ""), "latitude": ("latitude", ""), "treeid": ("key", ""), "botanic": ("species", ""),
        "common": ("common", ""), "yearinv": ("measured", "year"), "dbh": ("dbh", "in"),
    }  # fmt: skip


def test_repeated_keys_and_zeros_are_told() -> None:
    keys = [row["treeid"] for row in rows(FILE)]
    told = reasons(FILE)
    assert told["key_repeated"] + told.get("duplicate", 0) == len(keys) - len(set(keys)) == 11
    assert told["dbh_zero"] == sum(float(row["dbh"]) == 0 for row in rows(FILE) if row["dbh"].strip()) == 28


def test_misspelt_names_are_corrected_and_marked() -> None:
    """The misspellings were found by eye among the names that match nothing."""
    facts = judged(FILE).facts
    texts = facts.table.texts["species"].values
    found = {text.split(" ::")[0]: match for text, match in zip(texts, facts.matches, strict=True)}
    assert found["Cotinus coggyria"].botanical_name == "Cotinus coggygria"
    assert found["Stewartia pseudocamelia"].how == "corrected"
    wrong = ("Cotinus coggyria", "Stewartia pseudocamelia", "Zelcova serrata", "Prunus x yeodoensis")
    expected = sum(row["botanic"].startswith(wrong) for row in rows(FILE))
    assert reasons(FILE)["corrected"] == expected
