"""Species for a site: height under lines, strip, roots, room and shares of the population; their order."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.population import SANTAMOUR, Population
from assessments.methods.replacement import Candidate, Judged, Place, judge, refused, suggest

NOBODY = Population(0, {}, {}, {})
OAK = Candidate("Quercus robur", "Quercus", "Fagaceae", 30, 20, "moderate")
HORNBEAM = Candidate("Carpinus betulus", "Carpinus", "Betulaceae", 18, 10, "good")
SERVICEBERRY = Candidate("Amelanchier lamarckii", "Amelanchier", "Rosaceae", 7, 5, "good")
BEECH = Candidate("Fagus sylvatica", "Fagus", "Fagaceae", 30, 18, "poor")
EVERY = (OAK, HORNBEAM, SERVICEBERRY, BEECH)


def names(found: tuple[Judged, ...]) -> list[str]:
    return [one.candidate.name for one in found]


def test_where_nothing_limits_the_largest_crown_comes_first() -> None:
    assert names(suggest(Place("none", "park"), EVERY, NOBODY)) == [
        "Quercus robur", "Fagus sylvatica", "Carpinus betulus", "Amelanchier lamarckii",
    ]  # fmt: skip


def test_only_a_small_tree_fits_beneath_a_low_voltage_line() -> None:
    place = Place("low_voltage", "lawn")
    assert names(suggest(place, EVERY, NOBODY)) == ["Amelanchier lamarckii"]
    (oak,) = [one for one in refused(place, EVERY, NOBODY) if one.candidate is OAK]
    assert oak.against == ("grows to 30 m; under low voltage lines at most 7.5 m",)


def test_what_the_owner_of_the_line_allows_wins_over_the_table() -> None:
    assert names(suggest(Place("high_voltage", "lawn", clear_height_m=20), EVERY, NOBODY)) == [
        "Carpinus betulus", "Amelanchier lamarckii",
    ]  # fmt: skip


def test_a_narrow_strip_wants_a_small_tree_whose_roots_bear_it() -> None:
    assert names(suggest(Place("none", "strip", strip_width_m=1.2), EVERY, NOBODY)) == ["Amelanchier lamarckii"]
    beech = judge(BEECH, Place("none", "cutout"), NOBODY)
    assert beech.against == ("its roots bear disturbance poorly, and the growing space is tight",)


def test_a_crown_needs_its_room() -> None:
    assert names(suggest(Place("none", "park", crown_space_m=12), EVERY, NOBODY))[0] == "Carpinus betulus"


@pytest.mark.parametrize("rank", list(SANTAMOUR))
def test_what_exceeds_its_share_of_the_population_is_not_suggested(rank: str) -> None:
    name = {"species": "Quercus robur", "genus": "Quercus", "family": "Fagaceae"}[rank]
    counts = {what: {name: 301} if what == rank else {} for what in SANTAMOUR}
    stands = Population(1000, counts["species"], counts["genus"], counts["family"])
    against = judge(OAK, Place("none"), stands).against
    assert len(against) == 1
    assert against[0].startswith(f"{name} makes up 30.1 %")


@given(st.integers(0, 1000), st.integers(1, 1000))
def test_no_genus_above_its_share_is_ever_suggested(count: int, others: int) -> None:
    stands = Population(count + others, {}, {"Quercus": count}, {})
    suggested = names(suggest(Place("none", "park"), EVERY, stands))
    assert ("Quercus robur" in suggested) == (count / (count + others) <= 0.20)


def test_of_equal_crowns_the_rarer_genus_comes_first() -> None:
    twin = Candidate("Ostrya carpinifolia", "Ostrya", "Betulaceae", 18, 10, "good")
    stands = Population(100, {}, {"Carpinus": 15, "Ostrya": 1}, {})
    assert names(suggest(Place("none", "park"), (HORNBEAM, twin), stands)) == [twin.name, HORNBEAM.name]


def test_a_species_of_unknown_size_is_not_suggested() -> None:
    unknown = Candidate("Nova species", "Nova", "Novaceae", None, None)
    assert judge(unknown, Place("none"), NOBODY).against == ("its mature height is not known",)


def test_lines_that_are_not_recorded_are_to_be_looked_at() -> None:
    found = judge(OAK, Place(), NOBODY)
    assert found.fits
    assert "overhead lines are not recorded: check on site" in found.reasons
