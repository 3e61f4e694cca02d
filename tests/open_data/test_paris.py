"""Paris's trees (2,948 rows, semicolons, girth in cm, "lat, lon" in one cell): understood, judged, loaded.

The counts are made here by the csv module alone, or are those that the publisher's file was described with
(270 girths and 338 heights of zero; cemeteries and woods outside the city proper that are true records).
"""

import csv
import math
from datetime import date
from pathlib import Path

import pytest

from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.intake import taxa
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.read import open_source
from inventory.intake.survey import Survey, survey
from inventory.models import Measurement, Tree
from tests.support.build import LAT, LON
from tests.support.intake import species as species
from tests.support.open_data import open_data

FILE = "inventories/paris_les_arbres_2948.csv"


@pytest.fixture(scope="module")
def rows() -> list[dict[str, str]]:
    with open_data(FILE).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter=";"))


@pytest.fixture(scope="module")
def found() -> Survey:
    return survey(open_source(open_data(FILE)), taxa.from_files().names)


@pytest.fixture(scope="module")
def judged(found: Survey) -> Examination:
    table = convert(open_source(open_data(FILE)), found.mapping)
    return examine(Facts(table, taxa.from_files(), date(2026, 11, 25)))


def test_the_survey_finds_roles_and_units(found: Survey) -> None:
    assert {c.heading: (c.role, c.unit or c.format) for c in found.columns if c.role != "ignored"} == {
        "IDBASE": ("key", ""),
        "DOMANIALITE": ("place", ""),
        "COMPLEMENT ADRESSE": ("number", ""),
        "LIEU / ADRESSE": ("street", ""),
        "LIBELLE FRANCAIS": ("common", ""),
        "GENRE": ("genus", ""),
        "ESPECE": ("epithet", ""),
        "VARIETE OUCULTIVAR": ("cultivar", ""),
        "CIRCONFERENCE (cm)": ("girth", "cm"),
        "HAUTEUR (m)": ("height", "m"),
        "STADE DE DEVELOPPEMENT": ("age", ""),
        "geo_point_2d": ("point", "lat_lon"),
    }
    assert (found.rows, found.mapping.layout.delimiter) == (2_948, ";")


def test_no_row_is_refused_though_some_lie_outside_the_city(judged: Examination, rows: list[dict[str, str]]) -> None:
    outside = [r for r in rows if r["ARRONDISSEMENT"] in ("VAL-DE-MARNE", "HAUTS-DE-SEINE", "SEINE-SAINT-DENIS")]
    assert len(outside) > 100
    assert judged.counts()["refused"] == 0


def test_zeros_are_unknown(judged: Examination, rows: list[dict[str, str]]) -> None:
    reasons = judged.counts()["reasons"]
    girths = [float(row["CIRCONFERENCE (cm)"]) for row in rows]
    heights = [float(row["HAUTEUR (m)"]) for row in rows]
    assert reasons["dbh_zero"] == girths.count(0) == 270
    assert reasons["height_zero"] == heights.count(0) == 338
    assert sum(1 for value in judged.facts.table.numbers["height_m"] if not math.isnan(value)) == 2_948 - 338


def test_girths_become_diameters(judged: Examination, rows: list[dict[str, str]]) -> None:
    ours = judged.facts.table.numbers["dbh_cm"]
    for row in range(100):
        girth = float(rows[row]["CIRCONFERENCE (cm)"])
        assert (girth == 0 and math.isnan(ours[row])) or ours[row] == pytest.approx(girth / math.pi)


def test_latitude_comes_first_in_the_cell(judged: Examination, rows: list[dict[str, str]]) -> None:
    lat, lon = (float(part) for part in rows[0]["geo_point_2d"].split(","))
    numbers = judged.facts.table.numbers
    assert (numbers["lat"][0], numbers["lon"][0]) == (lat, lon)
    # Paris: about 48.86 N, 2.35 E.
    assert abs(numbers["lat"] - 48.86).max() < 0.2
    assert abs(numbers["lon"] - 2.35).max() < 0.2


def test_genus_epithet_and_cultivar_make_the_species(judged: Examination, rows: list[dict[str, str]]) -> None:
    texts = judged.facts.table.texts["species"]
    by_key = dict(zip((row["IDBASE"] for row in rows), range(len(rows)), strict=True))
    red = next(row for row in rows if "Briotii" in row["VARIETE OUCULTIVAR"])
    assert texts.at(by_key[red["IDBASE"]]).startswith("Aesculus x carnea 'Briotii'")
    counts = judged.counts()["species"]
    unnamed = sum(1 for row in rows if row["ESPECE"] == "sp.")
    # "sp." is a genus at best; everything else is nearly always known.
    assert counts["exact"] + counts["synonym"] > 0.95 * (2_948 - unnamed)
    assert counts["genus"] <= unnamed + 60


@pytest.mark.django_db
def test_the_whole_file_is_loaded(species: None, found: Survey, rows: list[dict[str, str]], tmp_path: Path) -> None:
    """The same file, moved as a whole to where the metric system of the tests is valid."""
    path = tmp_path / "moved.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=";")
        writer.writeheader()
        for row in rows:
            lat, lon = (float(part) for part in row["geo_point_2d"].split(","))
            writer.writerow(row | {"geo_point_2d": f"{lat - 48.86 + LAT!r}, {lon - 2.35 + LON!r}"})
    loading.load(SERVICE, open_source(path), found.mapping, refused="stop")
    assert Tree.objects.count() == 2_948
    some = [row for row in rows if row["CIRCONFERENCE (cm)"] != "0" or row["HAUTEUR (m)"] != "0"]
    assert Measurement.objects.count() == len(some)
    first = Tree.objects.get(external_key=rows[0]["IDBASE"])
    assert first.dbh_cm == pytest.approx(float(rows[0]["CIRCONFERENCE (cm)"]) / math.pi)
    assert first.height_m == float(rows[0]["HAUTEUR (m)"])
