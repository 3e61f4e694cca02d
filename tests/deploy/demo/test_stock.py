"""The trees of the plan: how many, which, how large, and that no impossible one is among them."""

from collections import Counter
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deploy.demo import stock
from deploy.demo.city import City
from deploy.demo.growth import ROOM, body, habit
from deploy.demo.stock import TreePlan
from tests.deploy.demo.conftest import REFERENCE

GONE = ("stump", "removed")


def _standing(city: City) -> list[TreePlan]:
    return [tree for tree in city.trees if tree.state not in GONE]


def test_there_are_about_six_thousand_trees(harrowmere: City) -> None:
    assert 5_600 < len(_standing(harrowmere)) < 6_600
    assert 150 < sum(tree.state in GONE for tree in harrowmere.trees) < 450
    assert 20 < sum(tree.state == "stump" for tree in harrowmere.trees) < 90
    assert 5 < sum(tree.state == "dead" for tree in harrowmere.trees) < 40
    assert Counter(spot.state for spot in harrowmere.spots)["vacant"] > 400


def test_every_species_of_the_mixes_is_in_the_catalogue() -> None:
    names = {name for shares in stock.mixes().values() for name, _ in shares}
    assert names <= set(stock.catalogue())
    assert len(names) > 50


def test_no_species_makes_up_more_than_a_quarter(harrowmere: City) -> None:
    shares = Counter(tree.species.botanical_name for tree in _standing(harrowmere))
    assert max(shares.values()) < 0.25 * len(_standing(harrowmere))
    assert len(shares) > 45


def test_sizes_stay_below_what_a_species_can_reach(harrowmere: City) -> None:
    for tree in harrowmere.trees:
        for size in tree.sizes:
            assert 3 <= size.body.dbh_cm <= tree.species.max_dbh_cm
            assert 1.8 <= size.body.height_m <= tree.species.mature_height_m * 1.05
            assert 0.5 <= size.body.crown_m <= tree.species.mature_crown_m * 1.1


def test_the_stock_has_young_old_and_great_trees(harrowmere: City) -> None:
    thick = np.array([tree.newest.dbh_cm for tree in _standing(harrowmere) if tree.newest])
    assert 25 < np.median(thick) < 50
    assert (thick < 10).mean() > 0.05
    assert (thick > 80).mean() > 0.05


def test_a_tree_is_measured_while_it_stands(harrowmere: City) -> None:
    for tree in harrowmere.trees:
        days = [size.on for size in tree.sizes]
        assert days == sorted(set(days))
        for day in days:
            assert day <= (tree.removed_on or REFERENCE)
            assert tree.planted_from is None or tree.planted_from <= day


def test_a_tree_that_was_measured_again_did_not_shrink(harrowmere: City) -> None:
    for tree in harrowmere.trees:
        if len(tree.sizes) == 2:
            assert tree.sizes[0].body.dbh_cm <= tree.sizes[1].body.dbh_cm


def test_a_replanted_place_was_free_before(harrowmere: City) -> None:
    by_place: dict[int, list[TreePlan]] = {}
    for tree in harrowmere.trees:
        by_place.setdefault(tree.spot.number, []).append(tree)
    replanted = [trees for trees in by_place.values() if len(trees) > 1]
    assert len(replanted) > 40
    for old, new in replanted:
        assert old.removed_on is not None
        assert new.planted_from is not None
        assert old.state == "removed"
        assert old.removed_on < new.planted_from


def test_tags_are_given_once(harrowmere: City) -> None:
    tags = [tree.tag for tree in harrowmere.trees]
    assert len(tags) == len(set(tags))
    assert len({tree.uid for tree in harrowmere.trees}) == len(tags)


@given(
    name=st.sampled_from(sorted({name for shares in stock.mixes().values() for name, _ in shares})),
    kind=st.sampled_from(sorted(ROOM)),
    ages=st.tuples(st.floats(0, 200), st.floats(0, 200)),
)
def test_a_tree_never_shrinks_with_age(name: str, kind: str, ages: tuple[float, float]) -> None:
    grown = habit(stock.catalogue()[name], kind, False, name, kind)
    young, old = (body(grown, age) for age in sorted(ages))
    assert young.dbh_cm <= old.dbh_cm
    assert young.height_m <= old.height_m
    assert young.crown_m <= old.crown_m


@pytest.mark.parametrize("day", [date(2024, 2, 29), date(2026, 1, 1), date(2027, 11, 15)])
def test_no_tree_is_planted_after_the_reference_date(day: date, harrowmere: City) -> None:
    for tree in stock.every_tree(harrowmere.spots, day):
        assert tree.planted_from is None or tree.planted_from < day
        assert tree.removed_on is None or tree.removed_on < day
