"""Files made to hurt: a clear problem or a plain survey, in bounded time, whatever they hold."""

import csv
import json
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake import cells, points
from inventory.intake.convert import convert
from inventory.intake.names import Catalogue
from inventory.intake.read import open_source
from inventory.intake.survey import Survey, survey
from inventory.problems import Invalid

NAMES = Catalogue([("Tilia cordata", "Tilia cordata", "accepted", "la")])
# Far above what they take, far below what a runaway would.
SECONDS = 30.0


def timed(path: Path) -> Survey:
    start = time.perf_counter()
    found = survey(open_source(path), NAMES)
    assert time.perf_counter() - start < SECONDS
    return found


@pytest.mark.parametrize("heading", ["c{}", "dbh {}", "x{}", "lat {}"])
def test_hundreds_of_columns_of_numbers_are_surveyed_in_bounded_time(tmp_path: Path, heading: str) -> None:
    with (tmp_path / "f.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heading.format(n) for n in range(480))
        writer.writerows([f"{(row * n) % 97 + 0.12345:.5f}" for n in range(480)] for row in range(60))
    timed(tmp_path / "f.csv")


@pytest.mark.parametrize(
    "cell", ["(" + "1" * 90_000, "POINT (" + "1 " * 40_000, "{'coordinates': [" * 5_000, "a " * 45_000]
)
def test_long_cells_do_not_make_patterns_run_away(tmp_path: Path, cell: str) -> None:
    with (tmp_path / "f.csv").open("w", newline="") as file:
        csv.writer(file).writerows([["n", cell], *([str(n), cell] for n in range(30))])
    timed(tmp_path / "f.csv")


def test_a_cell_of_fifty_megabytes_is_one_problem(tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_bytes(b'a,b\n1,"' + b"x" * 50_000_000 + b'"\n')
    with pytest.raises(Invalid, match="field limit"):
        open_source(tmp_path / "f.csv")


def test_coordinates_that_are_no_numbers_are_told_row_by_row(tmp_path: Path) -> None:
    wrong = ["nan", "1e400", "-inf", "=1+1", "N52", "'", "٣"]
    with (tmp_path / "f.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "lat", "lon"])
        writer.writerows([n, f"{52 + n * 1e-4:.5f}", f"{4 + n * 2e-4:.5f}"] for n in range(200))
        writer.writerows([f"w{n}", cell, "4.001"] for n, cell in enumerate(wrong))
    found = timed(tmp_path / "f.csv")
    table = convert(open_source(tmp_path / "f.csv"), found.mapping)
    # "nan" is a word for nothing; the Arabic digit three is a number to Unicode and is read as one.
    assert table.mark("place_unread")[-7:].tolist() == [False, True, True, True, True, True, False]


@pytest.mark.parametrize(
    "crs", [1, "x", [], {"type": "name"}, {"properties": {"name": 7}}, {"properties": {"name": "x" * 9_999}}]
)
@pytest.mark.parametrize("position", [[float("nan"), 1], [10**400, 1], ["4", "52"], [4], None, [[4, 52]], [4, 52]])
def test_odd_geometries_and_declarations_hurt_nothing(tmp_path: Path, crs: Any, position: Any) -> None:
    feature = {"type": "Feature", "properties": {"id": 1}, "geometry": {"type": "Point", "coordinates": position}}
    made = {"type": "FeatureCollection", "crs": crs, "features": [feature] * 30}
    (tmp_path / "f.json").write_text(json.dumps(made))
    found = survey(open_source(tmp_path / "f.json"), NAMES)
    assert found.rows == 30
    assert found.mapping.crs == 4326


def test_deeply_nested_json_is_refused(tmp_path: Path) -> None:
    (tmp_path / "f.json").write_text("[" * 100_000)
    with pytest.raises(Invalid, match="not JSON"):
        open_source(tmp_path / "f.json")


@given(st.text(max_size=80))
def test_any_text_is_a_point_or_is_not(text: str) -> None:
    x, y = points.pair(text)
    assert isinstance(x, float)
    assert isinstance(y, float)
    low, high = cells.interval(text)
    assert not low > high
    assert points.srid(text) is None or text


@given(st.text(max_size=60), st.sampled_from(["ymd", "dmy", "mdy", "year"]))
def test_any_text_is_a_day_or_is_not(text: str, form: str) -> None:
    first, last = cells.days(text, form)
    assert first <= last
