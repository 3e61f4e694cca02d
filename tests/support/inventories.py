"""Real inventories, surveyed and judged without any mapping edited by hand; and their rows by other tools than ours."""

import csv
import json
from datetime import date
from functools import cache
from typing import Any

from inventory.intake import taxa
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.read import open_source
from inventory.intake.survey import Survey, survey
from tests.support.open_data import open_data

TODAY = date(2026, 11, 25)


@cache
def known() -> taxa.Taxa:
    """The species of the catalogue's files."""
    return taxa.from_files()


@cache
def found(name: str) -> Survey:
    """The survey of a file of the inventories folder."""
    return survey(open_source(open_data(f"inventories/{name}")), known().names)


@cache
def judged(name: str) -> Examination:
    """The verdicts of a file under the mapping that its survey suggests."""
    table = convert(open_source(open_data(f"inventories/{name}")), found(name).mapping)
    return examine(Facts(table, known(), TODAY))


def roles(name: str) -> dict[str, tuple[str, str]]:
    """The columns that were understood: heading -> role, unit or form."""
    return {c.heading: (c.role, c.unit or c.format) for c in found(name).columns if c.role != "ignored"}


def reasons(name: str) -> dict[str, int]:
    """How many rows each check found."""
    counts: dict[str, int] = judged(name).counts()["reasons"]
    return counts


@cache
def rows(name: str) -> list[dict[str, str]]:
    """The rows of a CSV by the csv module alone."""
    with open_data(f"inventories/{name}").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def features(name: str) -> list[dict[str, Any]]:
    """The features of a GeoJSON file by the json module alone."""
    with open_data(f"inventories/{name}").open(encoding="utf-8") as file:
        made: list[dict[str, Any]] = json.load(file)["features"]
    return made


def properties(name: str) -> list[dict[str, Any]]:
    """The properties of those features."""
    return [feature["properties"] for feature in features(name)]
