"""A campus's trees of 2019, then of 2022 (SOURCES.md: 8,872 keys in both, 2,859 stems exactly half an inch smaller).

Every count is made here from the two files by the csv module alone, over the keys that stand once in each.
"""

import math
from collections import Counter
from functools import cache

import pytest

from inventory.history import SERVICE
from inventory.intake import against
from inventory.intake import load as loading
from inventory.intake.merge import merging, queries
from inventory.intake.read import Source, open_source
from inventory.intake.undo import undo
from inventory.models import IntakeMerge, Tree
from tests.support.intake import species as species
from tests.support.inventories import found, rows
from tests.support.merging import kinds, standing
from tests.support.open_data import open_data

FIRST, LATER = (f"cornell_campus_trees_{year}.csv" for year in (2019, 2022))


def source(name: str) -> Source:
    return open_source(open_data(f"inventories/{name}"))


@cache
def once(name: str) -> dict[str, dict[str, str]]:
    """The rows of a file whose key stands on one row only, by key."""
    times = Counter(row["treeid"].strip() for row in rows(name))
    return {key: row for row in rows(name) if (key := row["treeid"].strip()) and times[key] == 1}


def inches(row: dict[str, str]) -> float:
    """The diameter; NaN for 0, "Clump" and nothing."""
    try:
        return float(row["dbh"]) or math.nan
    except ValueError:
        return math.nan


@pytest.fixture
def campus(species: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file of 2019, loaded. The test's metric system is that of another place: no distance here needs it."""
    monkeypatch.setattr(against, "require_metric_fit", lambda facts: None)
    loading.load(SERVICE, source(FIRST), found(FIRST).mapping)


def merged(name: str) -> IntakeMerge:
    return merging.merge(SERVICE, source(name), found(name).mapping)


@pytest.mark.django_db
def test_the_later_file_is_merged_and_undone(campus: None) -> None:
    before = standing()
    made = merged(LATER)
    one, two = once(FIRST), once(LATER)
    both = one.keys() & two.keys()
    # What a repeated key stands for cannot be told by the csv module: keys that stand once are counted.
    told = {row.about["key"]: row for row in queries.rows(made) if row.about.get("key") in both}
    sizes = {key: (inches(one[key]), inches(two[key])) for key in both}
    other = {key for key, (was, now) in sizes.items() if not math.isnan(now) and was != now}
    assert {key for key, row in told.items() if "dbh" in row.differing} == other
    names = {
        key for key in both if (one[key]["botanic"], one[key]["common"]) != (two[key]["botanic"], two[key]["common"])
    }
    assert {key for key, row in told.items() if "species" in row.differing} == names
    assert len(names) == 17
    _appeared_and_vanished(made)
    _rounding(made)
    assert Tree.objects.count() == len(before["tree"]) + made.counts["kinds"]["appeared"]
    assert made.load
    undo(SERVICE, made.load.uid)
    assert standing() == before


def _appeared_and_vanished(made: IntakeMerge) -> None:
    every = [{row["treeid"].strip() for row in rows(name)} - {""} for name in (FIRST, LATER)]
    only_first, only_later = every[0] - every[1], every[1] - every[0]
    without = sum(not row["treeid"].strip() for row in rows(LATER))
    assert (len(only_first), len(only_later), without) == (139, 15, 89)
    by_place = made.counts["matched"]["by_place"]
    assert made.counts["kinds"]["appeared"] == len(only_later) + without - by_place
    assert made.counts["kinds"]["vanished"] == len(only_first) - by_place
    assert by_place == 1


def _rounding(made: IntakeMerge) -> None:
    """The halves over all keys of both files, each repeated key by its first row as it was loaded."""
    (offset,) = [notice for notice in made.notices if notice["kind"] == "offset"]
    assert "exactly half an inch smaller: rounding changed (whole numbers before, finer ones now)" in offset["text"]
    one, two = once(FIRST), once(LATER)
    half = sum(inches(two[key]) - inches(one[key]) == -0.5 for key in one.keys() & two.keys())
    assert half == 2_855
    repeated = 4  # of the 11 repeated keys, by eye
    assert offset["rows"] == half + repeated == 2_859


@pytest.mark.django_db
def test_each_file_merged_with_itself_changes_nothing(campus: None) -> None:
    before = standing()
    made = merged(FIRST)
    assert standing() == before
    assert kinds(made) == {"same": 9_011, "ambiguous": 11}
    assert made.notices == []
