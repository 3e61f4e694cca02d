"""Codes of species are learned from the rows that have a name, or from a table; contradictions are told."""

import csv
from pathlib import Path

import pytest

from inventory.catalogue import every_name
from inventory.intake import codes, mapping
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.problems import Invalid
from tests.inventory.intake.test_checks import judged
from tests.support import intake
from tests.support.open_data import open_data

NAMES = Catalogue(every_name())
# A city that has the code under `site`.
MAPPING = intake.MAPPING.replace('heading = "site"\nrole = "place"', 'heading = "site"\nrole = "code"')


def test_a_code_alone_is_named_by_the_rows_that_have_both(tmp_path: Path) -> None:
    named = [("AP", "Acer platanoides 'Globosum'"), ("AP", "Acer platanoides"), ("AP", "Acer platanoides"),
             ("TC", "Tilia cordata")]  # fmt: skip
    rows = [intake.row(at, site=code, species=name) for at, (code, name) in enumerate(named)]
    rows += [intake.row(8, site="AP", species=""), intake.row(9, site="ZZ", species="")]
    found = judged(tmp_path, rows, intake.mapping(MAPPING))
    texts = found.facts.table.texts["species"]
    assert (texts.at(4), texts.at(5)) == ("Acer platanoides", "code ZZ")
    assert [match.botanical_name for match in found.facts.matches if match.text == "Acer platanoides"]
    told = {check.name: rows.tolist() for check, rows, _ in found.found}
    assert told["from_code"] == [4, 5]
    assert told["species_unmatched"] == [5]


def test_a_name_against_its_code_stays_and_is_told(tmp_path: Path) -> None:
    rows = [intake.row(at, site="AP", species="Acer platanoides") for at in range(9)]
    rows += [intake.row(10, site="AP", species="Acer"), intake.row(11, site="AP", species="Quercus robur")]
    found = judged(tmp_path, rows, intake.mapping(MAPPING))
    assert found.facts.table.texts["species"].at(10) == "Quercus robur"
    (hits,) = [(rows.tolist(), details) for check, rows, details in found.found if check.name == "code_contradicts"]
    assert hits[0] == [10]
    assert "'Acer platanoides'" in hits[1][0]


def test_a_code_of_many_names_is_not_learned(tmp_path: Path) -> None:
    rows = [intake.row(at, site="X", species=name) for at, name in enumerate(("Acer rubrum", "Tilia cordata"))]
    found = judged(tmp_path, [*rows, intake.row(5, site="X", species="")], intake.mapping(MAPPING))
    assert found.facts.table.texts["species"].at(2) == "code X"


def test_a_table_of_codes_in_the_mapping_goes_before_what_was_learned(tmp_path: Path) -> None:
    text = '[codes]\n"AP" = "Acer palmatum"\n' + MAPPING.replace("[file]", "", 1)
    given = intake.mapping("[file]\n" + text)
    assert mapping.parse(mapping.write(given)) == given
    assert mapping.from_dict(mapping.to_dict(given)) == given
    found = judged(
        tmp_path, [intake.row(1, site="AP", species="Acer rubrum"), intake.row(2, site="AP", species="")], given
    )
    assert found.facts.table.texts["species"].at(1) == "Acer palmatum"
    assert found.facts.table.texts["code_says"].at(0) == "Acer palmatum"


@pytest.mark.parametrize("bad", ['[codes]\n"A" = 1', '[codes]\n"A" = ""', "codes = 3", '[codes]\n" " = "Acer"'])
def test_a_wrong_table_of_codes_is_named(bad: str) -> None:
    with pytest.raises(Invalid) as refused:
        mapping.parse(bad + "\n" + intake.MAPPING)
    assert any(error.pointer.startswith("#/codes") for error in refused.value.errors)


def test_the_columns_of_a_table_are_found_by_their_cells(tmp_path: Path) -> None:
    rows = [["1", "Norway maple", "ACPL", "Acer platanoides"], ["2", "Littleleaf linden", "TICO", "Tilia cordata"],
            ["3", "London plane", "PLAC", "Platanus x acerifolia"], ["4", "", "ACRU", "Acer rubrum"]]  # fmt: skip
    read = codes.table(open_source(intake.write(tmp_path / "codes.csv", rows, ["n", "b", "c", "a"])), NAMES)
    assert read["ACPL"] == "Acer platanoides :: Norway maple"
    assert read["ACRU"] == "Acer rubrum"
    assert len(read) == 4


def test_a_table_without_codes_or_names_is_refused(tmp_path: Path) -> None:
    path = intake.write(tmp_path / "codes.csv", [["ab", "stone"], ["cd", "water"]], ["a", "b"])
    with pytest.raises(Invalid, match="no column of codes"):
        codes.table(open_source(path), NAMES)


def test_the_codes_of_a_published_table_are_read(tmp_path: Path) -> None:
    """Source: USDA Forest Service, Urban Tree Database (RDS-2016-0005), table TS2; picked with the csv module."""
    with open_data("growth/TS2_Regional_species_and_counts.csv").open(encoding="latin-1", newline="") as file:
        rows = {row["SpCode"]: row for row in csv.DictReader(file)}
    heading = ("Common Name", "SpCode", "Tree Type", "Scientific Name")
    cells = [[row[name] for name in heading] for row in rows.values()]
    read = codes.table(open_source(intake.write(tmp_path / "codes.csv", cells, heading)), NAMES)
    assert {code: name.partition(" :: ")[0] for code, name in read.items()} == {
        code: row["Scientific Name"].strip() for code, row in rows.items() if code.strip()
    }
