"""A survey finds the column of codes by its values beside the names, whatever it is headed."""

import csv
from pathlib import Path

from inventory.catalogue import every_name
from inventory.intake import codes
from inventory.intake.convert import convert
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.survey import survey
from tests.support import intake
from tests.support.open_data import open_data

NAMES = Catalogue(every_name())


def test_a_survey_finds_codes_beside_names_and_learns_them(tmp_path: Path) -> None:
    """Source: USDA Forest Service, Urban Tree Database, table TS3: its own codes of species beside the names."""
    path = open_data("growth/TS3_Raw_tree_data.csv")
    with path.open(encoding="latin-1", newline="") as file:
        trees = [row for row in csv.DictReader(file) if row["Region"] == "InlVal"]
    rows = [[row["SpCode"], "" if at % 5 == 0 else row["ScientificName"], str(45 + at / 1e4), str(-29.5 - at / 1e4)]
            for at, row in enumerate(trees)]  # fmt: skip
    source = open_source(intake.write(tmp_path / "t.csv", rows, ["what", "name", "lat", "lon"]))
    found = survey(source, NAMES)
    assert {c.heading: c.role for c in found.mapping.columns if c.role in ("code", "species")} == {
        "what": "code", "name": "species",
    }  # fmt: skip
    assert any("have a code and no name" in doubt for doubt in found.doubts)
    texts = convert(source, found.mapping).texts["species"]
    wrong = [
        (row["SpCode"], row["ScientificName"], texts.at(at))
        for at, row in enumerate(trees)
        if at % 5 == 0 and codes.taxon_key(row["ScientificName"]) != codes.taxon_key(texts.at(at))
    ]
    assert wrong == []
