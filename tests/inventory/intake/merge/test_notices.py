"""What whole files differ in is told with counts, and what all trees share is not taken without being asked for."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inventory.intake.merge import shift, systematic
from inventory.intake.merge.shift import Shift
from inventory.intake.merge.systematic import Factor
from inventory.models import Tree
from tests.support import build, intake, merging
from tests.support.intake import species as species

database = pytest.mark.usefixtures("db", "species")
NAMES = ("Tilia cordata", "Quercus robur", "Acer rubrum", "Acer platanoides", "Fagus sylvatica")


def street(change: Callable[[int], dict[str, Any]] = lambda number: {}, count: int = 60) -> list[list[str]]:
    """Trees at uneven distances along two streets, of several species and sizes; `change` gives other cells."""
    rows = []
    for number in range(1, count + 1):
        east, north = number * 14 + (number * number) % 9, (number % 2) * 25 + (number * 7) % 5
        plain = {
            "lon": f"{build.LON + east / 78_850:.7f}",
            "lat": f"{build.LAT + north / 111_130:.7f}",
            "species": NAMES[number * number % 5],
            "dbh": f"{8 + number % 17}",
            "height": f"{20 + number % 11}",
        }
        rows.append(intake.row(number, **(plain | change(number))))
    return rows


def keyless(rows: list[list[str]]) -> list[list[str]]:
    return [["", *row[1:]] for row in rows]


def notices(made: Any) -> dict[str, tuple[int, int, str]]:
    return {notice["kind"]: (notice["rows"], notice["of"], notice["text"]) for notice in made.notices}


@database
def test_half_an_inch_less_on_many_trees_is_other_rounding(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    later = street(lambda n: {"dbh": f"{8 + n % 17 - 0.5}"} if n % 3 == 0 else {})
    told = notices(merging.check(tmp_path, later))
    assert set(told) == {"offset", "shrinking"}
    rows, of, text = told["offset"]
    assert (rows, of) == (20, 60)
    assert text.startswith("20 of 60 trees have a stem exactly half an inch smaller: rounding changed")
    assert text.endswith("(whole numbers before, finer ones now)")
    assert told["shrinking"][:2] == (20, 60)


@database
def test_an_inch_more_on_some_trees_is_growth(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    later = street(lambda n: {"dbh": f"{9 + n % 17}"} if n % 3 == 0 else {})
    made = merging.check(tmp_path, later)
    assert made.notices == []
    assert made.counts["fields"]["dbh"]["free"] == 20


@database
@pytest.mark.parametrize("keys", [True, False])
def test_girths_in_a_column_of_diameters_are_told_and_kept_out(tmp_path: Path, keys: bool) -> None:
    rows, later = street(), street(lambda n: {"dbh": f"{(8 + n % 17) * math.pi:.2f}"})
    merging.load(tmp_path, rows if keys else keyless(rows))
    before = merging.standing()
    made = merging.merge(tmp_path, later if keys else keyless(later))
    rows_, of, text = notices(made)["factor"]
    assert (rows_, of) == (60, 60)
    assert "have 3.142 times the stem that they have here: girth now, diameter before" in text
    assert made.counts["fields"]["dbh"]["systematic"] == 60
    assert merging.standing() == before


@database
def test_a_factor_is_taken_where_asked_for(tmp_path: Path) -> None:
    merging.load(tmp_path, street(lambda n: {"height": f"{(20 + n % 11) * 3.28084:.3f}"}))
    made = merging.merge(tmp_path, street(), take=["systematic"])
    assert "0.3048 times the height that they have here: feet read as metres" in notices(made)["factor"][2]
    assert Tree.objects.get(external_key="T1").height_m == pytest.approx(21 * 0.3048)


def moved(east: float, north: float) -> Callable[[int], dict[str, Any]]:
    plain = street()

    def change(number: int) -> dict[str, Any]:
        lat, lon = map(float, plain[number - 1][-2:])
        return {"lon": f"{lon + east / 78_847:.7f}", "lat": f"{lat + north / 111_132:.7f}"}

    return change


@database
@pytest.mark.parametrize("keys", [True, False])
@pytest.mark.parametrize(("east", "north"), [(92.0, 47.0), (-1.4, 0.0), (0.0, 3.0)])
def test_a_shift_of_all_points_is_told_and_kept_out(tmp_path: Path, keys: bool, east: float, north: float) -> None:
    merging.load(tmp_path, street() if keys else keyless(street()))
    before = merging.standing()
    later = street(moved(east, north))
    made = merging.merge(tmp_path, later if keys else keyless(later))
    rows, of, text = notices(made)["shifted"]
    assert rows >= 0.9 * of
    assert of >= 50
    if east:
        assert f"{abs(east):.0f}"[:2] in text
        assert ("east" if east > 0 else "west") in text
    assert merging.kinds(made) == {"moved": 60}
    assert made.counts["fields"]["location"]["systematic"] == 60
    assert merging.standing() == before


@database
def test_a_tree_moved_beside_a_shift_is_moved_by_the_rest(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    later = street(moved(92.0, 47.0))
    later[9][-2] = f"{float(later[9][-2]) + 6 / 111_132:.7f}"
    made = merging.check(tmp_path, later)
    (row,) = made.rows.filter(distance_m__gt=1)
    assert row.distance_m == pytest.approx(6.0, abs=0.1)
    assert row.standings == ["systematic"]  # less than a tenth of the shift is within what a datum distorts


@database
def test_species_renamed_in_bulk_are_told_with_both_names(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    later = street(lambda n: {"species": "Acer saccharum"} if NAMES[n * n % 5] == "Fagus sylvatica" else {})
    made = merging.check(tmp_path, later)
    times = sum(row[1] == "Acer saccharum" for row in later)
    assert times > 10
    rows, of, text = notices(made)["renamed"]
    assert (rows, of) == (times, times)
    assert text == f"{times} of {times} trees called 'Fagus sylvatica' are now 'Acer saccharum'"


@database
def test_a_name_that_the_catalogue_lacks_does_not_put_out_one_that_it_has(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    made = merging.merge(tmp_path, street(lambda n: {"species": "Arbor ignota"} if n == 7 else {}))
    assert made.counts["fields"]["species"]["conflict"] == 1
    assert Tree.objects.get(external_key="T7").species is not None


@database
def test_many_trees_that_the_file_lacks_are_told(tmp_path: Path) -> None:
    merging.load(tmp_path, street())
    assert notices(merging.check(tmp_path, street()[:40]))["many_vanished"] == (
        20, 60, "20 of 60 trees here are not in the file: is it the whole city's?",
    )  # fmt: skip
    assert merging.check(tmp_path, street()[:50]).notices == []


@pytest.mark.parametrize(
    ("times", "meaning"),
    [(math.pi, "girth"), (2.54, "inches"), (1 / 2.54, "centimetres"), (0.3048, "feet"), (10, "millimetres"), (1.4, "")],
)
def test_factors_are_named_by_their_conversion(times: float, meaning: str) -> None:
    """The inch and the foot are exact by definition (international yard, 1959)."""
    told = Factor(times, 1, 1).meaning
    assert meaning in told
    assert bool(told) == bool(meaning)
    assert [value for value, _ in systematic.KNOWN if abs(times / value - 1) < 1e-9] == ([times] if meaning else [])


def test_ways_that_no_majority_shares_are_no_shift() -> None:
    chance = np.random.default_rng(1)
    assert shift.common(chance.normal(0, 3, 500), chance.normal(0, 3, 500)) == shift.NONE
    assert shift.common(np.full(3, 5.0), np.zeros(3)) == shift.NONE
    found = shift.common(np.full(500, 4.0) + chance.normal(0, 0.01, 500), np.zeros(500))
    assert isinstance(found, Shift)
    assert found.metres == pytest.approx(4.0, abs=0.01)
