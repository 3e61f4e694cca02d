"""Biomass and carbon: which estimator is taken, its range, the spread of those that apply."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.growth.biomass import ESTIMATORS, OPEN_GROWN, carbon, urban, volume_m3
from assessments.methods.problems import MethodProblem

SPECIES = st.sampled_from(["Tilia cordata", "Acer platanoides", "Quercus robur", "Sorbus aria", "Pinus nigra"])


@pytest.mark.parametrize(
    ("equation", "dbh", "height", "volume"),
    [
        # McHale et al. 2009: 0.0019421 dbh^1.785, 0.001011 dbh^1.533 height^0.657; the powers taken by hand.
        ("Acer platanoides", 10.0, None, 0.11838),
        ("Acer platanoides", 10.0, 10.0, 0.15658),
        # Pillsbury et al. 1998: 0.000054 dbh^2.633462.
        ("Fraxinus velutina 'Modesto'", 100.0, None, 9.9843),
    ],
)
def test_volumes_by_the_printed_powers(equation: str, dbh: float, height: float | None, volume: float) -> None:
    assert volume_m3(equation, dbh, height) == pytest.approx(volume, rel=1e-4)


@given(SPECIES, st.floats(1, 200))
def test_the_best_estimate_lies_between_low_and_high(species: str, dbh: float) -> None:
    found = carbon(species, dbh)
    assert 0 < found.low_kg <= found.carbon_kg <= found.high_kg
    assert found.co2_kg == pytest.approx(found.carbon_kg * 44 / 12)


@given(SPECIES, st.sampled_from(["urban_volume", "jenkins_2003"]), st.floats(1, 300), st.floats(0, 100))
def test_a_thicker_tree_never_weighs_less_by_the_same_estimator(
    species: str, estimator: str, dbh: float, more: float
) -> None:
    one, other = (carbon(species, size, estimator=estimator).carbon_kg for size in (dbh, dbh + more))
    assert other >= one


def test_an_urban_equation_goes_before_a_forest_one_within_its_range() -> None:
    found = carbon("Tilia cordata", 40.0, family="Malvaceae")
    assert found.estimator == "urban_volume"
    assert [one.estimator for one in found.estimates] == ["urban_volume", "chojnacky_2014", "jenkins_2003"]
    maple = carbon("Acer rubrum", 30.0, family="Sapindaceae")
    assert [one.estimator for one in maple.estimates] == list(ESTIMATORS)
    assert found.dry_above_ground_kg == pytest.approx(volume_m3("Tilia cordata", 40.0) * 420)


def test_below_the_range_of_the_urban_one_the_forest_one_stands_in_for_open_ground() -> None:
    found = carbon("Fraxinus pennsylvanica", 10.0, family="Oleaceae")
    forest = next(one for one in found.estimates if one.estimator == "chojnacky_2014")
    assert found.estimator == "chojnacky_2014"
    assert found.dry_above_ground_kg == pytest.approx(OPEN_GROWN * forest.dry_kg)


def test_past_every_range_the_mass_is_held_and_said_so() -> None:
    large, huge = (carbon("Tilia cordata", dbh) for dbh in (150.0, 300.0))
    assert large.outside
    assert large.carbon_kg == huge.carbon_kg
    assert "outside the range of every equation" in large.notes[-1]


def test_a_measured_height_betters_the_volume() -> None:
    low, high = (carbon("Tilia cordata", 40.0, height_m=height).carbon_kg for height in (9.0, 18.0))
    assert high / low == pytest.approx(2**0.59)


def test_what_no_equation_covers_is_refused() -> None:
    with pytest.raises(MethodProblem) as caught:
        carbon("Nova species", 30.0)
    assert caught.value.fields[0].pointer == "/species"
    with pytest.raises(MethodProblem) as caught:
        carbon("Tilia cordata", 30.0, estimator="guess")
    assert caught.value.fields[0].pointer == "/estimator"
    assert urban("Nova species", 30.0) is None
