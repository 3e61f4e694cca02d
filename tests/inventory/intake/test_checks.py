"""Verdicts: every check of the table on a row that deserves it, and what it says was repaired."""

import math
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from inventory.intake import taxa
from inventory.intake.checks import BY_NAME, CHECKS
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.mapping import Mapping
from inventory.intake.neighbours import alone_km, distance_km, same_point
from inventory.intake.taxa import Taxa
from tests.support import intake
from tests.support.build import LON

TODAY = date(2026, 11, 25)
PLAIN = [intake.row(number) for number in range(1, 5)]
STATE = intake.MAPPING.replace('role = "place"', 'role = "state"')
CROWN = intake.MAPPING.replace('role = "height"', 'role = "crown"')
MEASURED = intake.MAPPING.replace('role = "planted"', 'role = "measured"')
SURVEYED = intake.MAPPING.replace('role = "place"', 'role = "measured"\nformat = "ymd"')
YEARS = intake.MAPPING.replace('role = "place"', 'role = "planted_year"')
STRIP = intake.MAPPING.replace('role = "place"', 'role = "strip_width"\nunit = "m"')


@cache
def known() -> Taxa:
    return taxa.from_files()


def judged(folder: Path, rows: list[list[str]], mapping: Mapping | None = None) -> Examination:
    table = convert(intake.source(folder, rows), mapping or intake.mapping())
    return examine(Facts(table, known(), TODAY))


# One row that each check finds: (check, cells of the row, mapping, column that becomes unknown).
CASES = [
    ("no_coordinates", {"lat": ""}, intake.MAPPING, ""),
    ("coordinates_unreadable", {"lat": "here"}, intake.MAPPING, ""),
    ("coordinates_unreadable", {"lat": "1e400"}, intake.MAPPING, ""),
    ("coordinates_out_of_range", {"lat": "4983000", "lon": "-3283000"}, intake.MAPPING, ""),
    ("coordinates_out_of_range", {"lat": "0", "lon": "0"}, intake.MAPPING, ""),
    ("far_from_the_others", {"lat": "45.3"}, intake.MAPPING, ""),
    ("key_repeated", {"id": "T1"}, intake.MAPPING, ""),
    ("key_too_long", {"id": "T" * 201}, intake.MAPPING, ""),
    ("removed", {"site": "Removed"}, STATE, ""),
    ("key_missing", {"id": ""}, intake.MAPPING, ""),
    ("dbh_unreadable", {"dbh": "Clump"}, intake.MAPPING, "dbh_cm"),
    ("dbh_unreadable", {"dbh": "-3"}, intake.MAPPING, "dbh_cm"),
    ("dbh_unreadable", {"dbh": "1e400"}, intake.MAPPING, "dbh_cm"),
    ("height_unreadable", {"height": "tall"}, intake.MAPPING, "height_m"),
    ("crown_unreadable", {"height": "wide"}, CROWN, "crown_m"),
    ("planted_unreadable", {"planted": "2020-02-30"}, intake.MAPPING, "planted_from"),
    ("measured_unreadable", {"planted": "soon"}, MEASURED, "measured_on"),
    ("dbh_zero", {"dbh": "0.0"}, intake.MAPPING, "dbh_cm"),
    ("height_zero", {"height": "0"}, intake.MAPPING, "height_m"),
    ("crown_zero", {"height": "0"}, CROWN, "crown_m"),
    ("dbh_tiny", {"dbh": "0.01"}, intake.MAPPING, "dbh_cm"),
    ("height_tiny", {"height": "0.1"}, intake.MAPPING, "height_m"),
    ("crown_tiny", {"height": "0.1"}, CROWN, "crown_m"),
    ("strip_impossible", {"site": "900"}, STRIP, "strip_width_m"),
    ("dbh_impossible", {"dbh": "600", "species": ""}, intake.MAPPING, "dbh_cm"),
    ("dbh_impossible_for_species", {"dbh": "80", "species": "Photinia x fraseri"}, intake.MAPPING, "dbh_cm"),
    ("dbh_suspicious", {"dbh": "31", "species": "Photinia x fraseri"}, intake.MAPPING, ""),
    ("height_impossible", {"height": "400", "species": ""}, intake.MAPPING, "height_m"),
    ("height_suspicious", {"height": "300"}, intake.MAPPING, ""),
    ("crown_impossible", {"height": "300"}, CROWN, "crown_m"),
    ("planted_in_future", {"planted": "2031-01-01"}, intake.MAPPING, "planted_from"),
    ("planted_placeholder", {"planted": "1900-01-01"}, intake.MAPPING, "planted_to"),
    ("measured_in_future", {"planted": "2031-01-01"}, MEASURED, "measured_on"),
    ("planted_placeholder", {"planted": "9999-12-31"}, intake.MAPPING, "planted_to"),
    ("planted_after_survey", {"planted": "2020-01-01", "site": "2019-12-31"}, SURVEYED, "planted_from"),
    ("planted_disagrees", {"planted": "2000-01-02", "site": "1900"}, YEARS, "planted_from"),
    ("large_for_its_age", {"planted": "2025-01-01", "dbh": "20"}, intake.MAPPING, ""),
    ("height_against_stem", {"height": "33", "dbh": "1"}, intake.MAPPING, ""),
    ("height_against_stem", {"height": "6", "dbh": "20"}, intake.MAPPING, ""),
    ("name_damaged", {"species": "7 grandiflora :: Southern 7"}, intake.MAPPING, ""),
    ("no_species", {"species": "::"}, intake.MAPPING, ""),
    ("species_unmatched", {"species": "Arbor ignota"}, intake.MAPPING, ""),
    ("several_on_one_point", {"lon": PLAIN[0][-1]}, intake.MAPPING, ""),
    ("corrected", {"species": "Tilia cordota"}, intake.MAPPING, ""),
    ("near_duplicate", {"lon": f"{LON + (20 + 0.5) / 78_850:.7f}"}, intake.MAPPING, ""),
    ("stump", {"species": "Stump"}, intake.MAPPING, ""),
    ("vacant", {"species": "Vacant site"}, intake.MAPPING, ""),
    ("genus_only", {"species": "Tilia sp."}, intake.MAPPING, ""),
    ("synonym", {"species": "Platanus acerifolia"}, intake.MAPPING, ""),
    ("common_name", {"species": "Norway maple"}, intake.MAPPING, ""),
]
# Found by other means: a row of another length, what the inventory holds already (test_load.py), what was
# settled (test_settle.py), what codes tell (test_codes.py).
ELSEWHERE = {"cells_do_not_fit", "other_values", "same", "settled", "from_code", "code_contradicts"}
# Those of classes, crown bases, repeated rows and placeholder years have a file of their own (test_classes.py).
ELSEWHERE |= {
    "dbh_class_unreadable", "height_class_unreadable", "dbh_outside_class", "height_outside_class", "duplicate",
    "crown_base_unreadable", "below_crown_base", "planted_year_placeholder",
}  # fmt: skip


def test_every_check_of_the_table_has_its_case() -> None:
    assert {name for name, *_ in CASES} | ELSEWHERE == {check.name for check in CHECKS}


@pytest.mark.parametrize(("name", "cells", "text", "unset"), CASES)
def test_a_check_finds_its_row_and_no_other(
    tmp_path: Path, name: str, cells: dict[str, str], text: str, unset: str
) -> None:
    found = judged(tmp_path, [*PLAIN, intake.row(5, **cells)], intake.mapping(text))
    hits = {check.name: (rows.tolist(), details) for check, rows, details in found.found}
    rows, details = hits[name]
    assert 4 in rows
    assert len(details) == len(rows)
    assert "{" not in details[-1]
    assert found.verdicts[4] == {"note": 0, "warn": 1, "refuse": 2}[BY_NAME[name].severity]
    if name not in ("several_on_one_point", "near_duplicate"):
        assert rows == [4]
    if unset:
        column = found.facts.table.numbers.get(unset)
        assert math.isnan(column[4]) if column is not None else found.facts.table.days[unset][4] == -1


def test_a_plain_row_is_accepted_in_si(tmp_path: Path) -> None:
    found = judged(tmp_path, PLAIN)
    assert found.verdicts.tolist() == [0, 0, 0, 0]
    assert found.found == []
    table = found.facts.table
    assert table.numbers["dbh_cm"][0] == pytest.approx(25.4)
    assert table.numbers["height_m"][0] == pytest.approx(9.144)
    assert date.fromordinal(int(table.days["planted_from"][0])) == date(1999, 4, 1)
    assert [table.texts[name].at(0) for name in ("key", "number", "street", "place", "space")] == [
        "T1", "1", "Mill Lane", "Sidewalk: Cutout", "cutout",
    ]  # fmt: skip


def test_a_girth_becomes_a_diameter(tmp_path: Path) -> None:
    text = intake.MAPPING.replace('role = "dbh"\nunit = "in"', 'role = "girth"\nunit = "cm"')
    found = judged(tmp_path, [intake.row(1, dbh="157")], intake.mapping(text))
    assert found.facts.table.numbers["dbh_cm"][0] == pytest.approx(157 / math.pi)


def test_a_row_with_too_few_cells_is_refused(tmp_path: Path) -> None:
    found = judged(tmp_path, [*PLAIN, ["T5", "Tilia cordata"]])
    assert found.counts()["reasons"]["cells_do_not_fit"] == 1
    assert found.verdicts[4] == 2


def test_what_was_repaired_says_from_what_to_what(tmp_path: Path) -> None:
    rows = [*PLAIN, intake.row(5, dbh="80", species="Photinia x fraseri")]
    source = intake.source(tmp_path, rows)
    found = examine(Facts(convert(source, intake.mapping()), known(), TODAY))
    (verdict,) = found.rows(source)
    assert verdict.line == 6
    assert verdict.verdict == "warned"
    assert verdict.details[0].startswith("stem 203.2 cm is more than twice")
    assert verdict.details[0].endswith("-> unknown")
    assert verdict.cells == dict(zip(intake.HEADING, rows[4], strict=True))


def test_counts_add_up(tmp_path: Path) -> None:
    rows = [*PLAIN, intake.row(5, lat=""), intake.row(6, dbh="0"), intake.row(7, species="Vacant site")]
    counts = judged(tmp_path, rows).counts()
    assert (counts["rows"], counts["accepted"], counts["warned"], counts["refused"]) == (7, 5, 1, 1)
    assert (counts["trees"], counts["vacant_sites"]) == (5, 1)
    assert sum(counts["species"].values()) == counts["trees"]


def test_distance_equals_the_length_of_a_degree_on_the_sphere() -> None:
    # One degree of a great circle of radius 6,371 km is pi / 180 * 6,371 km (elementary geometry).
    assert distance_km(np.array([0.0]), np.array([1.0]), 0.0, 0.0)[0] == pytest.approx(math.pi / 180 * 6371)
    assert distance_km(np.array([1.0]), np.array([60.0]), 0.0, 60.0)[0] == pytest.approx(
        math.pi / 180 * 6371 * 0.5, rel=1e-4
    )


def test_a_true_exclave_stays_and_a_stray_does_not() -> None:
    rng = np.random.default_rng(1)
    lon = np.concatenate([rng.uniform(2.30, 2.40, 500), rng.uniform(2.60, 2.61, 30), [2.35]])
    lat = np.concatenate([rng.uniform(48.83, 48.88, 500), rng.uniform(48.80, 48.81, 30), [48.50]])
    far = alone_km(lon, lat)
    assert np.flatnonzero(~np.isnan(far)).tolist() == [530]
    brute = min(distance_km(lon[:530], lat[:530], 2.35, 48.50))
    assert far[530] == pytest.approx(brute)


def test_a_file_of_a_few_scattered_trees_has_no_strays() -> None:
    lon, lat = np.array([10.0, 10.2, 10.4, 10.6]), np.array([50.0, 50.2, 50.4, 50.6])
    assert np.isnan(alone_km(lon, lat)).all()


def test_trees_on_one_point_are_counted() -> None:
    assert same_point(np.array([1.0, 2.0, 1.0]), np.array([3.0, 3.0, 3.0])).tolist() == [2, 1, 2]
