"""Real inventories merged with themselves, shuffled and jittered, without their keys: found again by place and species.

The jitter is at most 0.5 m, so what is near what in the city is known from the file itself.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from inventory.history import SERVICE
from inventory.intake import against
from inventory.intake import load as loading
from inventory.intake import mapping as mappings
from inventory.intake.mapping import Mapping
from inventory.intake.merge import merging
from inventory.intake.read import open_source
from inventory.models import IntakeMerge, Tree
from tests.support.intake import species as species
from tests.support.inventories import found
from tests.support.merging import kinds, standing
from tests.support.open_data import open_data

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("anywhere")]
KEYED = ("vancouver_street_trees_5000.csv", "artesia_ca_trees.geojson", "amsterdam_wallengebied_trees.csv",
         "pasadena_ca_trees_1013.geojson", "portland_street_trees_676.csv")  # fmt: skip
# CSV files with the two coordinates in columns of degrees: heading of each.
PLACED = {
    "melbourne_fitzroy_gardens_1200.csv": ("Latitude", "Longitude"),
    "amsterdam_ijburg_trees.csv": ("LAT", "LNG"),
    "cornell_campus_trees_2019.csv": ("latitude", "longitude"),
}


@pytest.fixture
def anywhere(species: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The test's metric system is that of another place: no distance of a merge needs it."""
    monkeypatch.setattr(against, "require_metric_fit", lambda facts: None)


def merge(path: Path, mapping: Mapping) -> IntakeMerge:
    return merging.merge(SERVICE, open_source(path, mapping.layout), mapping)


@pytest.mark.parametrize("name", KEYED)
def test_a_city_merged_with_itself_changes_nothing(name: str) -> None:
    path, mapping = open_data(f"inventories/{name}"), found(name).mapping
    loading.load(SERVICE, open_source(path, mapping.layout), mapping)
    before = standing()
    made = merge(path, mapping)
    assert standing() == before
    assert set(kinds(made)) <= {"same", "ambiguous", "refused"}
    assert made.counts["kinds"]["ambiguous"] < 0.02 * made.counts["rows"]


@pytest.mark.parametrize("name", PLACED)
def test_a_city_shuffled_and_jittered_without_keys_is_found_again(name: str, tmp_path: Path) -> None:
    mapping = _without_key(found(name).mapping)
    loading.load(SERVICE, open_source(open_data(f"inventories/{name}"), mapping.layout), mapping)
    later = _jittered(name, tmp_path, mapping)
    made = merging.check(SERVICE, open_source(later, mapping.layout), mapping)
    told = made.counts["kinds"]
    standing_trees = Tree.objects.filter(state__in=("alive", "dead")).count()
    assert made.counts["matched"]["by_place"] > 0.97 * standing_trees
    assert told["changed"] == 0, "a tree was taken for another one"
    assert told["appeared"] == told["vanished"] == 0
    assert told["ambiguous"] < 0.03 * made.counts["rows"]


def _without_key(mapping: Mapping) -> Mapping:
    tables = mappings.to_dict(mapping)
    tables["column"] = [
        column for column in tables["column"] if column["role"] not in ("key", "address", "number", "note")
    ]
    return mappings.from_dict(tables)


def _jittered(name: str, folder: Path, mapping: Mapping) -> Path:
    lat, lon = PLACED[name]
    chance = np.random.default_rng(7)
    with open_data(f"inventories/{name}").open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file, delimiter=mapping.layout.delimiter)
        rows, heading = list(reader), list(reader.fieldnames or ())
    for row in rows:
        if row[lat] and row[lon]:
            way, far = chance.uniform(0, 2 * np.pi), chance.uniform(0, 0.5) / 111_000
            row[lat] = f"{float(row[lat]) + far * np.sin(way):.9f}"
            row[lon] = f"{float(row[lon]) + far * np.cos(way):.9f}"
    order = chance.permutation(len(rows))
    path = folder / "later.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, heading, delimiter=mapping.layout.delimiter)
        writer.writeheader()
        writer.writerows(rows[place] for place in order)
    return path
