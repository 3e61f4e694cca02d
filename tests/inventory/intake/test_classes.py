"""Classes kept as intervals, crown bases, repeated rows, years that mean unknown: read, judged, loaded."""

import math
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.history import SERVICE
from inventory.intake import cells, taxa
from inventory.intake import load as loading
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.mapping import Mapping
from inventory.intake.taxa import Taxa
from inventory.models import Measurement, Tree
from tests.support import intake
from tests.support.intake import species as species

CLASSES = (
    intake.MAPPING.replace('role = "planted"\nformat = "ymd"', 'role = "dbh_class"\nunit = "in"\nformat = "range"')
    .replace('role = "place"', 'role = "height_class"\nunit = "ft"\nformat = "tens"')
)  # fmt: skip
BASE = intake.MAPPING.replace('role = "place"', 'role = "crown_base"\nunit = "m"')


@cache
def known() -> Taxa:
    return taxa.from_files()


def judged(folder: Path, rows: list[list[str]], text: str) -> Examination:
    table = convert(intake.source(folder, rows), intake.mapping(text))
    return examine(Facts(table, known(), date(2026, 11, 25)))


def hits(found: Examination) -> dict[str, list[int]]:
    return {check.name: rows.tolist() for check, rows, _ in found.found}


@given(st.integers(0, 60), st.integers(1, 40), st.sampled_from(["{}-{}", "{} - {} cm", "{} tot {} m.", "{} bis {}"]))
def test_a_class_is_read_in_every_form(low: int, width: int, form: str) -> None:
    assert cells.interval(form.format(low, low + width)) == (low, low + width)
    assert cells.interval(form.format(low + width, low)) == (math.inf, math.inf)


@pytest.mark.parametrize(
    ("cell", "low", "high"),
    [
        ("07-12", 7, 12), ("31+", 31, math.nan), ("> 30 cm", 30, math.nan), ("24 m. en hoger", 24, math.nan),
        ("tot 6 m.", 0, 6), ("moins de 5 m", 0, 5), ("unter 5 m", 0, 5), ("hasta 5 m", 0, 5), ("fino a 5 m", 0, 5),
        ("30 and over", 30, math.nan), ("---", math.nan, math.nan), ("12", 12, 12),
    ],
)  # fmt: skip
def test_open_classes_stay_open(cell: str, low: float, high: float) -> None:
    assert cells.interval(cell) == pytest.approx((low, high), nan_ok=True)


@pytest.mark.parametrize("cell", ["12-7", "Clump", "2014-09-28", "1-2-3", "9" * 400])
def test_what_is_no_class_is_unreadable(cell: str) -> None:
    assert all(map(math.isinf, cells.interval(cell)))


def test_classes_are_kept_as_intervals_and_their_contradictions_told(tmp_path: Path) -> None:
    rows = [
        intake.row(1, dbh="", height="", planted="07-12", site="3"),
        intake.row(2, dbh="18", height="", planted="0-6", site="10"),
        intake.row(3, dbh="", height="99", planted="31+", site="1"),
        intake.row(4, dbh="", height="", planted="thick", site="high"),
        intake.row(5, dbh="12.4", height="", planted="07-12", site=""),
    ]
    found = judged(tmp_path, rows, CLASSES)
    numbers = found.facts.table.numbers
    # Inches and feet are defined as 2.54 cm and 0.3048 m.
    assert numbers["dbh_low_cm"].tolist() == pytest.approx([17.78, math.nan, 78.74, math.nan, 17.78], nan_ok=True)
    assert numbers["dbh_high_cm"].tolist() == pytest.approx([30.48, math.nan, math.nan, math.nan, 30.48], nan_ok=True)
    assert numbers["height_low_m"][:3].tolist() == pytest.approx([9.144, 30.48, math.nan], nan_ok=True)
    assert numbers["height_high_m"][:2].tolist() == pytest.approx([12.192, 33.528])
    assert numbers["dbh_cm"][1] == pytest.approx(18 * 2.54)
    told = hits(found)
    assert told["dbh_outside_class"] == [1]
    assert told["height_outside_class"] == [2]
    assert told["dbh_class_unreadable"] == told["height_class_unreadable"] == [3]


def test_a_tree_lower_than_its_crown_base_loses_the_base(tmp_path: Path) -> None:
    rows = [intake.row(1, height="30", site="2"), intake.row(2, height="30", site="12"), intake.row(3, site="low")]
    found = judged(tmp_path, rows, BASE)
    assert hits(found)["below_crown_base"] == [1]
    assert hits(found)["crown_base_unreadable"] == [2]
    assert found.facts.table.numbers["crown_base_m"].tolist() == pytest.approx([2, math.nan, math.nan], nan_ok=True)


def test_a_row_that_stands_twice_is_taken_once(tmp_path: Path) -> None:
    rows = [intake.row(1), intake.row(2), intake.row(1), intake.row(1, dbh="11")]
    found = judged(tmp_path, rows, intake.MAPPING)
    assert hits(found)["duplicate"] == [2]
    assert hits(found)["key_repeated"] == [3]
    assert found.counts()["trees"] == 2


def test_a_year_that_stands_alone_in_its_decade_is_unknown(tmp_path: Path) -> None:
    text = intake.MAPPING.replace('"ymd"', '"year"')
    years = ["1900"] * 9 + ["1905", "1991", "2004"]
    found = judged(tmp_path, [intake.row(n, planted=year) for n, year in enumerate(years, 1)], text)
    assert hits(found)["planted_year_placeholder"] == list(range(9))
    true = ["1900", "1901", "1902", "1903", "1900", "1904"]
    assert "planted_year_placeholder" not in hits(
        judged(tmp_path, [intake.row(n, planted=year) for n, year in enumerate(true, 1)], text)
    )


def test_conditions_keep_the_words_of_the_city_and_tell_the_dead(tmp_path: Path) -> None:
    text = intake.MAPPING.replace('role = "place"', 'role = "condition"')
    words = ["Very Good", "Dead", "Stump Removal", "Sehr schlecht", ""]
    found = judged(tmp_path, [intake.row(n, site=word) for n, word in enumerate(words, 1)], text)
    states = [found.facts.state.at(row) for row in range(5)]
    assert states == ["alive", "dead", "stump", "alive", "alive"]
    notes = [found.facts.table.texts["note"].at(row) for row in range(5)]
    assert notes == [
        "site: Very Good [good]", "site: Dead", "site: Stump Removal [stump]", "site: Sehr schlecht [poor]", "",
    ]  # fmt: skip


@pytest.mark.django_db
def test_intervals_are_loaded_without_an_invented_size(species: None, tmp_path: Path) -> None:
    mapping: Mapping = intake.mapping(CLASSES)
    rows = [
        intake.row(1, dbh="", height="", planted="07-12", site="3"),
        intake.row(2, dbh="", height="", planted="31+", site=""),
        intake.row(3, dbh="5", height="", planted="0-6", site=""),
        intake.row(4, dbh="", height="", planted="", site=""),
    ]
    loading.load(SERVICE, intake.source(tmp_path, rows), mapping)
    first, second, third, fourth = Tree.objects.order_by("id")
    assert first.dbh_cm is None
    assert [first.dbh_low_cm, first.dbh_high_cm] == pytest.approx([17.78, 30.48])
    assert second.dbh_low_cm == pytest.approx(78.74)
    assert second.dbh_high_cm is None
    assert third.dbh_cm == pytest.approx(12.7)
    measured = Measurement.objects.get(tree=first)
    assert measured.height_m is None
    assert [measured.height_low_m, measured.height_high_m] == pytest.approx([9.144, 12.192])
    assert not Measurement.objects.filter(tree=fourth).exists()


@pytest.mark.django_db
def test_another_class_of_a_known_tree_is_told_and_the_same_is_not_loaded_again(species: None, tmp_path: Path) -> None:
    mapping = intake.mapping(CLASSES)
    rows = [intake.row(n, dbh="", height="", planted="07-12", site="3") for n in (1, 2)]
    loading.load(SERVICE, intake.source(tmp_path, rows), mapping)
    later = [rows[0], intake.row(2, dbh="", height="", planted="13-18", site="3")]
    found = loading.judge(intake.source(tmp_path, later, "later.csv"), mapping)
    assert found.facts.same.tolist() == [True, False]
    assert hits(found)["other_values"] == [1]
