"""Small city files of the invented city, their mapping, and the catalogue in the database."""

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from inventory.catalogue import load as catalogue
from inventory.intake import mapping as mappings
from inventory.intake import read
from inventory.intake.mapping import Mapping
from inventory.intake.read import Source
from tests.support.build import LAT, LON

HEADING = ("id", "species", "dbh", "height", "planted", "address", "site", "lat", "lon")
MAPPING = """
[file]
[[column]]
heading = "id"
role = "key"
[[column]]
heading = "species"
role = "species"
[[column]]
heading = "dbh"
role = "dbh"
unit = "in"
[[column]]
heading = "height"
role = "height"
unit = "ft"
[[column]]
heading = "planted"
role = "planted"
format = "ymd"
[[column]]
heading = "address"
role = "address"
[[column]]
heading = "site"
role = "place"
[[column]]
heading = "lat"
role = "latitude"
[[column]]
heading = "lon"
role = "longitude"
"""


def mapping(text: str = MAPPING) -> Mapping:
    """The mapping of such a file."""
    return mappings.parse(text)


def row(number: int, **cells: Any) -> list[str]:
    """One tree of the file, 20 m east of the one before; `cells` replaces what it names."""
    plain = {
        "id": f"T{number}",
        "species": "Tilia cordata",
        "dbh": "10",
        "height": "30",
        "planted": "1999-04-01",
        "address": f"{number} Mill Lane",
        "site": "Sidewalk: Cutout",
        "lat": f"{LAT:.6f}",
        "lon": f"{LON + number * 20 / 78_850:.6f}",
    }
    return [str((plain | cells)[name]) for name in HEADING]


def write(path: Path, rows: Sequence[Sequence[str]], heading: Sequence[str] = HEADING) -> Path:
    """The file."""
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([heading, *rows])
    return path


def source(folder: Path, rows: Sequence[Sequence[str]], name: str = "trees.csv") -> Source:
    """The file, opened."""
    return read.open_source(write(folder / name, rows))


@pytest.fixture
def species(city: object) -> None:
    """The species catalogue in the database."""
    catalogue.apply()
