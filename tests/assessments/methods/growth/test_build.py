"""The committed tables of growth are what the builder makes of the public ones; what it refits, holds and drops."""

import csv
from pathlib import Path

import numpy as np
import pytest

from assessments.methods.growth import build
from assessments.methods.growth.equations import evaluate
from assessments.methods.wood.tables import rows_of
from tests.support.open_data import open_data

SCATTER = dict.fromkeys(build.KINDS, (0.5, 1.5))
TS6 = "Region,Scientific Name,SpCode,Independent variable,Predicts component ,Units of predicted components,Model weight,EqName,a,b,c,d,e,Apps min,Apps max,Sigma,n,adj R2\n"  # noqa: E501
TS3 = "Region,SpCode,TreeType,Age,DBH (cm),TreeHt (m),AvgCdia (m),Leaf (m2)\n"
# Crown diameter by dbh as the trees below have it; its cubic term has more digits than five.
TRUE = (0.5, 0.4, -0.004, 0.0000162)


def tables(folder: Path, rows: list[str], trees: int = 40) -> Path:
    """Write a small database: one species of one region whose trees all follow TRUE."""
    growth = folder / "growth"
    growth.mkdir()
    (growth / "TS6_Growth_coefficients.csv").write_text(TS6 + "\n".join(rows) + "\n")
    lines = []
    for place in range(trees):
        dbh = 5 + 115 * place / max(trees - 1, 1)
        crown = float(np.polynomial.polynomial.polyval(dbh, TRUE))
        lines.append(f"NoEast,TICO,BDM,{dbh / 2},{dbh},-1,{crown},-1")
    (growth / "TS3_Raw_tree_data.csv").write_text(TS3 + "\n".join(lines) + "\n")
    return growth


def row(kind: str, form: str, coefficients: str, least: float, most: float, weight: str = "1/dbh") -> str:
    what = {"crown": "dbh,crown dia", "dbh": "age,dbh", "age": "dbh,age"}[kind]
    return f"NoEast,Tilia cordata,TICO,{what},u,{weight},{form},{coefficients},{least},{most},1,40,0.9"


AGES = [row("age", "lin", "0,0.5,,,", 2, 60), row("dbh", "lin", "0,2,,,", 4, 120, "1")]


def top(coefficients: tuple[float, ...] = TRUE) -> float:
    return float(evaluate("cub", (*coefficients, 0.0), 120.0))


def made(folder: Path, rows: list[str], trees: int = 40) -> dict[str, build.Made]:
    found = build.equations(tables(folder, rows, trees), SCATTER)
    return {("crown" if one.equation.kind == "crown_from_dbh" else "dbh") if one.equation else "dropped": one
            for one in found}  # fmt: skip


def test_a_cubic_row_whose_printed_digits_do_not_carry_is_fitted_again(tmp_path: Path) -> None:
    printed = "0.5,0.4,-0.004,0.00002,"
    found = made(tmp_path, [*AGES, row("crown", "cub", printed, 1.9, round(top(), 2))])["crown"]
    assert found.equation is not None
    assert found.report is not None
    assert (found.equation.standing, found.report["done"]) == ("refit", "refit")
    assert found.equation.coefficients[:4] == pytest.approx(TRUE, rel=1e-4)
    assert float(found.report["drift_percent"]) > 2
    # All trees lie on the curve: there is no scatter.
    assert (found.equation.low, found.equation.high) == pytest.approx((1, 1), abs=1e-4)


def test_a_row_that_carries_stands_as_published(tmp_path: Path) -> None:
    found = made(tmp_path, [*AGES, row("crown", "cub", "0.5,0.4,-0.004,0.0000162,", 1.9, round(top(), 2))])["crown"]
    assert found.equation is not None
    assert (found.equation.standing, found.report) == ("published", None)


def test_a_row_that_the_raw_trees_do_not_bear_out_is_dropped_and_reported(tmp_path: Path) -> None:
    found = made(tmp_path, [*AGES, row("crown", "cub", "0.5,0.4,-0.004,0.00002,", 1.9, 40)])["dropped"]
    assert found.report is not None
    assert found.report["done"] == "dropped"
    assert "does not meet the published maximum" in found.report["why"]


def test_a_row_without_enough_raw_trees_stands_unchecked_where_it_carries_and_else_drops(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    carries = made(tmp_path / "a", [*AGES, row("crown", "cub", "0.5,0.4,-0.004,0.0000162,", 1.9, round(top(), 2))], 3)
    assert carries["crown"].equation is not None
    assert (carries["crown"].equation.standing, carries["crown"].equation.low) == ("unchecked", 0.5)
    drifts = made(tmp_path / "b", [*AGES, row("crown", "cub", "0.5,0.4,-0.004,0.00002,", 1.9, round(top(), 2))], 3)
    assert drifts["dropped"].report is not None
    assert drifts["dropped"].report["why"] == "too few raw trees to fit again"


def test_a_curve_that_its_publisher_cut_off_is_capped(tmp_path: Path) -> None:
    most = 0.9 * float(evaluate("loglogw1", (-0.75, 2.4, 0.02), 120.0))
    found = made(tmp_path, [*AGES, row("crown", "loglogw1", "-0.75,2.4,0.02,,", 1.0, round(most, 2))])["crown"]
    assert found.equation is not None
    assert found.equation.standing == "capped"
    assert float(found.equation.at(500.0)) == pytest.approx(most, abs=0.01)


@pytest.mark.parametrize(("share", "beside"), [(0.5, "far above"), (1.1, "below")])
def test_a_curve_that_ends_elsewhere_than_published_is_dropped(tmp_path: Path, share: float, beside: str) -> None:
    most = share * float(evaluate("loglogw1", (-0.75, 2.4, 0.02), 120.0))
    found = made(tmp_path, [*AGES, row("crown", "loglogw1", "-0.75,2.4,0.02,,", 1.0, round(most, 2))])["dropped"]
    assert found.report is not None
    assert found.report["why"].startswith(f"ends {beside} its published maximum")


def test_a_curve_that_grossly_misses_its_own_trees_is_dropped(tmp_path: Path) -> None:
    most = float(evaluate("loglogw1", (1.0, 2.4, 0.02), 120.0))
    found = made(tmp_path, [*AGES, row("crown", "loglogw1", "1.0,2.4,0.02,,", 1.0, round(most, 2))])["dropped"]
    assert found.report is not None
    assert found.report["why"].startswith("misses its own trees")


def test_a_curve_that_turns_down_is_held_at_its_published_maximum(tmp_path: Path) -> None:
    # 0.5 + 0.4 x - 0.0025 x^2 is 16.5 at 80 cm and 12.5 at 120, where the publisher ends it.
    found = made(tmp_path, [*AGES, row("crown", "quad", "0.5,0.4,-0.0025,,", 1.9, 12.5)])["crown"]
    assert found.equation is not None
    assert found.equation.at([80.0, 120.0, 500.0]).tolist() == pytest.approx([12.5, 12.5, 12.5])


def test_palms_are_reported_as_going_by_height(tmp_path: Path) -> None:
    found = build.equations(tables(tmp_path, [row("crown", "quad", "0,0.1,0,,", 1, 9)]), SCATTER)
    (palm,) = [one for one in found if one.report]
    assert palm.report is not None
    assert "a palm" in palm.report["why"]


def test_of_two_cultivars_of_one_name_that_with_more_trees_stands(tmp_path: Path) -> None:
    printed = row("crown", "cub", "0.5,0.4,-0.004,0.0000162,", 1.9, round(top(), 2))
    other = [line.replace("TICO", "TICG").replace("Tilia cordata", "Tilia cordata 'Greenspire'").replace(",40,", ",90,")
             for line in (*AGES, printed)]  # fmt: skip
    growth = tables(tmp_path, [*AGES, printed, *other])
    raw = growth / "TS3_Raw_tree_data.csv"
    lines = raw.read_text().splitlines()
    raw.write_text("\n".join([*lines, *(line.replace("TICO", "TICG") for line in lines[1:])]) + "\n")
    found = [one.equation for one in build.equations(growth, SCATTER) if one.equation]
    assert {one.trees for one in found} == {90}
    assert len(found) == 2


@pytest.mark.parametrize(
    ("model", "weight"), [("1", 1), ("1/dbh", 0.25), ("1/sqrt(age)", 0.5), ("1/cdia^2", 1 / 16), ("1/(dbh)^2", 1 / 16)]
)
def test_the_published_weights_are_powers_of_x(model: str, weight: float) -> None:
    assert build.weights(model, np.array([4.0])).tolist() == pytest.approx([weight])


def test_the_builder_needs_a_folder(capsys: pytest.CaptureFixture[str]) -> None:
    assert build.main([]) == 2
    assert "usage" in capsys.readouterr().err


def test_the_committed_tables_are_built_from_the_public_ones(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = open_data("growth/TS6_Growth_coefficients.csv").parents[1]
    committed = build.FOLDER
    monkeypatch.setattr(build, "FOLDER", tmp_path)
    assert build.main([str(folder)]) == 0
    for name, columns in (
        ("equations.csv", build.COLUMNS), ("report.csv", build.REPORT), ("volumes.csv", build.VOLUME_COLUMNS),
        ("species.csv", build.SPECIES_COLUMNS),
    ):  # fmt: skip
        with (tmp_path / name).open(encoding="utf-8", newline="") as file:
            assert next(file).startswith("# source: McPherson")
            assert next(csv.reader(file)) == list(columns)
        built, stands = rows_of(tmp_path / name), rows_of(committed / name)
        assert len(built) == len(stands)
        for one, other in zip(built, stands, strict=True):
            assert one.keys() == other.keys()
            # Refit coefficients may differ in their last digits from one linear algebra library to another.
            assert all(_same(one[column], other[column]) for column in one), (one, other)


def _same(one: str, other: str) -> bool:
    try:
        return float(one) == pytest.approx(float(other), rel=1e-4, abs=0.0011)
    except ValueError:
        return one == other
