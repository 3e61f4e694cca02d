"""Surveys: roles and units from the values, whatever the headings; never from a city's name."""

from functools import cache
from pathlib import Path

import pytest

from inventory.intake import mapping as mappings
from inventory.intake import taxa
from inventory.intake.headings import named, unit_in
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.roles import ROLES
from inventory.intake.survey import Survey, survey
from tests.support import intake

SPECIES = ("Tilia cordata", "Acer platanoides", "Quercus robur", "Ginkgo biloba", "Platanus x hispanica")


@cache
def names() -> Catalogue:
    return taxa.from_files().names


def surveyed(folder: Path, heading: tuple[str, ...], count: int = 300) -> Survey:
    rows = []
    for number in range(count):
        stem = (3, 5, 8, 12, 20, 33)[number % 6]
        cells: dict[str, object] = {"species": SPECIES[number % 5], "dbh": stem, "height": 10 + 3 * stem // 2}
        cells["lat"] = f"{45 + number * 0.000131:.6f}"
        cells["planted"] = f"{1960 + number % 60}-05-{1 + number % 28:02d}"
        rows.append(intake.row(number, **cells))
    return survey(open_source(intake.write(folder / "trees.csv", rows, heading)), names())


def roles(found: Survey) -> dict[str, str]:
    return {column.heading: column.role for column in found.columns}


def test_a_file_in_plain_english_is_understood(tmp_path: Path) -> None:
    found = surveyed(tmp_path, intake.HEADING)
    assert list(roles(found).values()) == [
        "key", "species", "dbh", "height", "planted", "address", "place", "latitude", "longitude",
    ]  # fmt: skip
    units = {column.role: column.unit or column.format for column in found.columns}
    assert (units["dbh"], units["height"], units["planted"]) == ("in", "ft", "ymd")
    assert found.doubts == []
    assert all(column.evidence for column in found.columns)


@pytest.mark.parametrize(
    "heading",
    [
        ("Baumnummer", "Botanischer Name", "Stammdurchmesser", "Baumhöhe", "Pflanzdatum", "Adresse", "Standort",
         "Breitengrad", "Längengrad"),
        ("TREE_ID", "ScientificName", "TrunkDiameter", "TreeHeight", "DatePlanted", "FullAddress", "SiteInfo", "LAT",
         "LNG"),
    ],
)  # fmt: skip
def test_the_language_of_the_headings_does_not_matter(tmp_path: Path, heading: tuple[str, ...]) -> None:
    found = surveyed(tmp_path, heading)
    assert list(roles(found).values())[:6] == ["key", "species", "dbh", "height", "planted", "address"]
    assert list(roles(found).values())[7:] == ["latitude", "longitude"]


def test_headings_that_say_nothing_leave_what_values_tell(tmp_path: Path) -> None:
    found = surveyed(tmp_path, tuple(f"f{number}" for number in range(9)))
    told = roles(found)
    assert (told["f0"], told["f1"], told["f4"]) == ("key", "species", "planted")
    # A number alone may be any size: it is not guessed.
    assert (told["f2"], told["f3"]) == ("ignored", "ignored")


def test_headings_against_the_values_do_not_decide(tmp_path: Path) -> None:
    heading = ("dbh", "latitude", "species", "height", "planted", "address", "site", "key", "lon")
    told = roles(surveyed(tmp_path, heading))
    assert told["latitude"] == "species"
    assert told["dbh"] != "dbh"
    assert told["species"] != "species"


def test_a_survey_without_coordinates_says_so(tmp_path: Path) -> None:
    path = tmp_path / "trees.csv"
    path.write_text("id,species\n" + "".join(f"{n},Tilia cordata\n" for n in range(50)))
    found = survey(open_source(path), names())
    assert any("no coordinates" in doubt for doubt in found.doubts)


def test_the_written_mapping_is_the_suggested_one_with_its_evidence(tmp_path: Path) -> None:
    found = surveyed(tmp_path, intake.HEADING)
    text = found.as_toml()
    assert mappings.parse(text) == found.mapping == mappings.from_dict(found.as_dict()["mapping"])
    assert "# 95% sure: the heading 'dbh' says so" in text


def test_heading_words_name_roles_that_exist_and_units() -> None:
    assert named("dbh", "DBH") == 1.0
    assert named("girth", "CIRCONFERENCE (cm)") == 1.0
    assert named("dbh", "species") == 0.0
    assert all(named(role, phrase) == 1.0 for role, about in ROLES.items() for phrase in about.words)
    assert (unit_in("Height in feet"), unit_in("dbh_cm"), unit_in("m")) == ("ft", "cm", "")
