"""Units and roles judged by proportions: what headings say against what stems, heights, crowns and species tell.

The trees are those of an invented city whose sizes follow the Urban Tree Database (McPherson, van Doorn & Peper 2016);
inch, foot and the circle's ratio are exact.
"""

import csv
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from inventory.intake import taxa
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.survey import Suggestion, Survey, survey
from tests.support import foreign
from tests.support.foreign_words import TREES
from tests.support.open_data import open_data

FOOT, INCH = 0.3048, 2.54


@cache
def names() -> Catalogue:
    return taxa.from_files().names


@cache
def trees(seed: int = 1) -> foreign.City:
    return foreign.city("en", seed)


def surveyed(path: Path, **columns: np.ndarray) -> Survey:
    city = trees()
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon", "species", *(name.replace("__", " ") for name in columns)])
        for row, kind in enumerate(city.kind):
            sizes = [f"{values[row]:.1f}" for values in columns.values()]
            writer.writerow([f"A{row}", city.lat[row], city.lon[row], TREES[kind][0], *sizes])
    return survey(open_source(path), names())


def of(found: Survey, heading: str) -> Suggestion:
    return next(column for column in found.columns if column.heading == heading)


@pytest.mark.parametrize(
    ("heading", "stem", "role", "unit"),
    [
        ("dbh_cm", lambda d: d / INCH, "dbh", "in"),
        ("dbh__in", lambda d: d, "dbh", "cm"),
        ("diameter_cm", lambda d: d * math.pi, "girth", "cm"),
        ("girth_cm", lambda d: d, "dbh", "cm"),
        ("diameter", lambda d: d * math.pi, "girth", "cm"),
        ("dbh_cm", lambda d: d, "dbh", "cm"),
        ("girth_cm", lambda d: d * math.pi, "girth", "cm"),
        ("dbh", lambda d: d / INCH, "dbh", "in"),
    ],
)
def test_stems_under_a_heading_that_lies_are_told_by_heights_crowns_and_species(
    tmp_path: Path, heading: str, stem: object, role: str, unit: str
) -> None:
    city = trees()
    assert callable(stem)
    found = surveyed(
        tmp_path / "f.csv", **{heading: stem(city.dbh_cm), "height_m": city.height_m, "crown_m": city.crown_m}
    )
    told = of(found, heading.replace("__", " "))
    assert (told.role, told.unit) == (role, unit), told.evidence
    assert (of(found, "height_m").unit, of(found, "crown_m").unit) == ("m", "m")
    written = (heading.split("_")[0], heading.split("_")[-1])
    assert (heading == "dbh") or (written == (role, unit)) != any("taken otherwise" in doubt for doubt in found.doubts)


@pytest.mark.parametrize(
    ("heading", "times", "unit"), [("height_m", 1 / FOOT, "ft"), ("height_ft", 1.0, "m"), ("height_m", 1.0, "m")]
)
def test_heights_in_another_unit_than_the_heading_gives(tmp_path: Path, heading: str, times: float, unit: str) -> None:
    city = trees()
    found = surveyed(tmp_path / "f.csv", **{"dbh_cm": city.dbh_cm, heading: city.height_m * times})
    assert of(found, heading).unit == unit
    assert of(found, "dbh_cm").unit == "cm"


@pytest.mark.parametrize(
    ("diameter", "girth", "right"),
    [(1.0, 1.0, "diameter"), (math.pi, math.pi, "girth"), (1.0, 2.0, "diameter"), (2 * math.pi, math.pi, "girth")],
)
def test_of_two_headings_that_disagree_by_a_constant_the_one_that_fits_is_taken(
    tmp_path: Path, diameter: float, girth: float, right: str
) -> None:
    city = trees()
    found = surveyed(
        tmp_path / "f.csv", diameter_cm=city.dbh_cm * diameter, girth_cm=city.dbh_cm * girth,
        height_m=city.height_m, crown_m=city.crown_m,
    )  # fmt: skip
    roles = {column.heading: column.role for column in found.columns}
    assert (roles["diameter_cm"], roles["girth_cm"]) == (
        ("dbh", "ignored") if right == "diameter" else ("ignored", "girth")
    )
    (doubt,) = [doubt for doubt in found.doubts if "one of the headings is wrong" in doubt]
    assert f"'{right}_cm' is taken, because" in doubt
    assert "species" in doubt
    assert "crowns" in doubt


def test_a_grove_of_young_trees_is_not_taken_for_inches(tmp_path: Path) -> None:
    young = foreign.city("en", 9)
    small = np.clip(young.dbh_cm / 4, 2, None)
    height = np.exp(0.214 + 0.615 * np.log(small))
    with (tmp_path / "f.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon", "species", "dbh_cm", "height_m"])
        writer.writerows(
            [f"A{row}", young.lat[row], young.lon[row], TREES[kind][0], f"{small[row]:.1f}", f"{height[row]:.1f}"]
            for row, kind in enumerate(young.kind)
        )
    found = survey(open_source(tmp_path / "f.csv"), names())
    assert (of(found, "dbh_cm").unit, of(found, "height_m").unit) == ("cm", "m")


def test_the_proportions_of_each_region_of_the_urban_tree_database_change_no_unit(tmp_path: Path) -> None:
    """17 regions, each with its own climate and species: under true headings nothing is taken otherwise."""
    with open_data("growth/TS3_Raw_tree_data.csv").open(encoding="latin-1", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["TreeType"][:1] != "P"]
    for region in sorted({row["Region"] for row in rows}):
        path = tmp_path / f"{region}.csv"
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["id", "lat", "lon", "species", "dbh_cm", "height_m", "crown_m"])
            for n, row in enumerate(row for row in rows if row["Region"] == region):
                sizes = [row["DBH (cm)"], row["TreeHt (m)"], row["AvgCdia (m)"]]
                writer.writerow([f"A{n}", 45 + n * 1.1e-4, 7 + n * 1.3e-4, row["ScientificName"], *sizes])
        found = survey(open_source(path), names())
        units = [of(found, heading).unit for heading in ("dbh_cm", "height_m", "crown_m")]
        assert units == ["cm", "m", "m"], (region, found.doubts)


def test_codes_beside_their_classes_are_told_from_heights(tmp_path: Path) -> None:
    city = trees()
    ends = [(0, 5), (5, 10), (10, 15), (15, 20), (20, 25), (25, 60)]
    codes = [next(n for n, (_, high) in enumerate(ends, 1) if value < high) for value in city.height_m]
    with (tmp_path / "f.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon", "species", "Baumhoehe", "Baumhoehe_txt", "dbh_cm"])
        for row, kind in enumerate(city.kind):
            low, high = ends[codes[row] - 1]
            text = f"{low}-{high} m" if high < 60 else f"> {low} m"
            cells = [codes[row], text, f"{city.dbh_cm[row]:.1f}"]
            writer.writerow([f"A{row}", city.lat[row], city.lon[row], TREES[kind][0], *cells])
    found = survey(open_source(tmp_path / "f.csv"), names())
    assert of(found, "Baumhoehe").role == "ignored"
    told = of(found, "Baumhoehe_txt")
    assert (told.role, told.unit, told.format) == ("height_class", "m", "range")
    assert any("one for one, in order" in doubt for doubt in found.doubts)


@pytest.mark.parametrize(("unit", "metres"), [("ft", FOOT), ("m", 1.0)])
def test_codes_that_rise_with_the_stems_are_classes_of_ten(tmp_path: Path, unit: str, metres: float) -> None:
    city = trees()
    times = 1.5 if unit == "m" else 1.0  # heights that reach over several classes of ten metres
    codes = np.floor(city.height_m * times / metres / 10)
    with (tmp_path / "f.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon", "species", "height", "dbh_cm"])
        for row, kind in enumerate(city.kind):
            cells = [int(codes[row]), f"{city.dbh_cm[row] * times**1.6:.1f}"]
            writer.writerow([f"A{row}", city.lat[row], city.lon[row], TREES[kind][0], *cells])
    told = of(survey(open_source(tmp_path / "f.csv"), names()), "height")
    assert (told.role, told.unit, told.format) == ("height_class", unit, "tens"), told.evidence
    assert "rise with the stems" in told.evidence
