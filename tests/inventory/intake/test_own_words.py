"""Texts that a person maps to our words: they win over the word lists, in remarks and in the state of a tree."""

from pathlib import Path

import pytest

from inventory.intake import mapping as mappings
from inventory.intake import own_words
from inventory.intake.convert import convert
from inventory.intake.read import open_source
from inventory.intake.table import Table

FILE = "lat,lon,health,work\n" + "".join(
    f"45.0{n},-29.5,{health},{work}\n"
    for n, (health, work) in enumerate([("Klasse 2", "Stufe A"), ("KLASSE 2 ", "prune"), ("gut", ""), ("hin", "")])
)
MAPPING = """
[[column]]
heading = "lat"
role = "latitude"
[[column]]
heading = "lon"
role = "longitude"
[[column]]
heading = "health"
role = "condition"
[column.words]
"Klasse 2" = "fair"
"hin" = "dead"
[[column]]
heading = "work"
role = "recommendation"
[column.words]
"Stufe A" = "prune"
"prune" = "inspect"
"""


def converted(folder: Path, mapping: str) -> Table:
    path = folder / "trees.csv"
    path.write_text(FILE, encoding="utf-8")
    return convert(open_source(path), mappings.parse(mapping))


def test_what_a_person_says_of_a_text_wins_and_the_text_stays(tmp_path: Path) -> None:
    table = converted(tmp_path, MAPPING)
    assert [table.texts["note"].at(row) for row in range(4)] == [
        "health: Klasse 2 [fair]; work: Stufe A [prune]",
        "health: KLASSE 2 [fair]; work: prune [inspect]",
        "health: gut [good]",
        "health: hin [dead]",
    ]
    assert [table.texts["state"].at(row) for row in range(4)] == ["", "", "", "dead"]


def test_a_word_that_is_taken_away_says_nothing_any_more(tmp_path: Path) -> None:
    table = converted(tmp_path, MAPPING.replace('"hin" = "dead"', '"gut" = ""'))
    assert table.texts["note"].at(2) == "health: gut"
    assert table.texts["state"].at(3) == ""


@pytest.mark.parametrize("role", own_words.OURS)
def test_without_own_words_the_word_lists_read(role: str) -> None:
    ours, read = own_words.OURS[role]
    reader = own_words.reader(role, ())
    assert [reader(word) for word in ours] == [read(word) for word in ours]
    assert set(map(reader, ours)) <= {"", *ours}
