"""Sizes: units, feet under metres, units in cells, and what two columns of the same rows tell of each other.

Inch, foot and the circle's ratio are exact; the sizes are drawn as those of a city's trees are.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from inventory.intake import cells
from inventory.intake.convert import convert
from inventory.intake.headings import unit_in
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.roles import CM
from inventory.intake.survey import Suggestion, Survey, survey

NAMES = Catalogue([("Tilia cordata", "Tilia cordata", "accepted", "la")])
COUNT = 400
RNG = np.random.default_rng(11)
DBH = np.clip(RNG.lognormal(3.2, 0.6, COUNT), 3, 140)
HEIGHT = np.clip(2 + 0.35 * DBH + RNG.normal(0, 1.5, COUNT), 2, 30)


def surveyed(path: Path, **columns: list[str]) -> Survey:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon", *columns])
        for row, values in enumerate(zip(*columns.values(), strict=True)):
            writer.writerow([row, f"{48 + row * 1e-4:.6f}", f"{2 + row * 1.7e-4:.6f}", *values])
    return survey(open_source(path), NAMES)


def of(found: Survey, heading: str) -> Suggestion:
    return next(column for column in found.columns if column.heading == heading)


def plain(values: np.ndarray, digits: int = 1) -> list[str]:
    return [f"{value:.{digits}f}" for value in values]


@pytest.mark.parametrize(
    ("heading", "values", "role", "unit"),
    [
        ("Stammumfang", DBH * math.pi, "girth", "cm"),
        ("circonférence", DBH * math.pi * 10, "girth", "mm"),
        ("BHD", DBH, "dbh", "cm"),
        ("Diametro_tronco", DBH / 2.54, "dbh", "in"),
        ("Stamdiameter", DBH * 10, "dbh", "mm"),
        ("stem radius", DBH / 2, "radius", "cm"),
        ("Baumhoehe", HEIGHT, "height", "m"),
        ("altezza", HEIGHT / 0.3048, "height", "ft"),
        ("Hauteur", HEIGHT * 100, "height", "cm"),
        ("Kronendurchmesser", HEIGHT * 0.6, "crown", "m"),
        ("Diámetro copa", HEIGHT * 0.6, "crown", "m"),
        ("kroonstraal", HEIGHT * 0.3, "crown_radius", "m"),
    ],
)
def test_role_and_unit_follow_from_heading_and_values(
    tmp_path: Path, heading: str, values: np.ndarray, role: str, unit: str
) -> None:
    suggestion = of(surveyed(tmp_path / "f.csv", **{heading: plain(values)}), heading)
    assert (suggestion.role, suggestion.unit) == (role, unit), suggestion.evidence


def test_heights_of_giants_under_metres_are_feet(tmp_path: Path) -> None:
    suggestion = of(surveyed(tmp_path / "f.csv", **{"height (m)": plain(HEIGHT * 1.6 / 0.3048)}), "height (m)")
    assert suggestion.unit == "ft"
    assert "giants" in suggestion.evidence


def test_girth_and_diameter_vouch_for_each_other(tmp_path: Path) -> None:
    found = surveyed(tmp_path / "f.csv", diameter=plain(DBH), girth=plain(DBH * math.pi))
    assert "values x pi are those of 'girth' on 100.0% of the rows" in of(found, "diameter").evidence
    assert (of(found, "diameter").role, of(found, "diameter").unit) == ("dbh", "cm")
    assert of(found, "girth").role == "ignored"
    assert not any("wrong" in doubt for doubt in found.doubts)


def test_the_factor_tells_the_unit_that_sizes_alone_would_miss(tmp_path: Path) -> None:
    """Thin young trees: girths in cm alone look like anything; inches beside them settle both."""
    small = np.clip(DBH, 3, 30) / 2
    found = surveyed(tmp_path / "f.csv", **{"dbh (in)": plain(small / 2.54, 2), "girth": plain(small * math.pi, 2)})
    assert "diameter in inches, girth in cm" in of(found, "dbh (in)").evidence
    assert of(found, "dbh (in)").unit == "in"


def test_a_heading_that_lies_by_a_constant_factor_is_told(tmp_path: Path) -> None:
    found = surveyed(tmp_path / "f.csv", diameter=plain(DBH * math.pi), girth=plain(DBH * math.pi))
    assert any("one of the headings is wrong" in doubt for doubt in found.doubts)


def test_columns_that_merely_grow_together_are_no_constant_factor(tmp_path: Path) -> None:
    noise = DBH * math.pi * RNG.uniform(0.8, 1.25, COUNT)
    found = surveyed(tmp_path / "f.csv", diameter=plain(DBH), girth=plain(noise))
    assert "x pi" not in of(found, "diameter").evidence
    assert not any("wrong" in doubt for doubt in found.doubts)


def test_units_behind_the_numbers_are_read(tmp_path: Path) -> None:
    cells_of = [f'{value:.0f}"' if row % 2 else f"{value:.0f} in" for row, value in enumerate(DBH / 2.54)]
    found = surveyed(tmp_path / "f.csv", trunk_diameter=cells_of)
    assert (of(found, "trunk_diameter").role, of(found, "trunk_diameter").unit) == ("dbh", "in")
    table = convert(open_source(tmp_path / "f.csv"), found.mapping)
    assert table.numbers["dbh_cm"][:50].tolist() == pytest.approx(
        [round(v) * 2.54 for v in (DBH / 2.54)[:50]], abs=2.54
    )


@pytest.mark.parametrize(
    ("cell", "unit", "expected"),
    [
        ("14 in", "cm", 35.56),
        ("14", "cm", 14),
        ("140mm", "cm", 14),
        ("1,5 m", "cm", math.inf),
        ("clump", "cm", math.inf),
    ],
)
def test_a_number_with_its_unit_is_brought_to_the_columns_unit(cell: str, unit: str, expected: float) -> None:
    assert cells.sized(cell, ".", unit, CM) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Höhe in m", "m"),
        ("dbh_cm", "cm"),
        ("Diametro (pollici)", "in"),
        ("hauteur en pieds", "ft"),
        ("located in", "in"),
    ],
)
def test_a_heading_names_its_unit_in_six_languages(heading: str, unit: str) -> None:
    assert unit_in(heading) == unit
