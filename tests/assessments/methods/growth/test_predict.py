"""Sizes by growth equation: the equation that stands in, what lies outside its range, ages read backwards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.growth.predict import KINDS, REGIONS, age_years, choose, equations, name_of, predict
from assessments.methods.problems import MethodProblem

SPECIES = st.sampled_from(["Tilia cordata", "Acer platanoides", "Quercus robur", "Sorbus aria", "Pinus nigra"])
PLACES = st.sampled_from(["", *REGIONS])


@given(st.sampled_from(KINDS), SPECIES, PLACES, st.floats(0, 500), st.floats(0, 500))
def test_a_larger_tree_is_never_predicted_smaller_than_its_scatter_allows(
    kind: str, species: str, region: str, one: float, other: float
) -> None:
    small, large = sorted((one, other))
    before, after = (predict(kind, species, x, region) for x in (small, large))
    assert before.low <= before.value <= before.high
    # A published curve may dip by up to 2 % at its end before it is cut off, and a little at its young end.
    assert after.value >= before.value * 0.98 - 3


@given(st.sampled_from(KINDS), SPECIES, PLACES, st.floats(0, 2000))
def test_no_prediction_leaves_the_published_range(kind: str, species: str, region: str, x: float) -> None:
    equation = choose(kind, species, region).equation
    found = predict(kind, species, x, region)
    assert equation.y_least - 5e-4 <= found.value <= equation.y_most + 5e-4
    assert found.outside == (not equation.x_least <= x <= equation.x_most)
    assert found.outside == any("outside" in note for note in found.notes)


@pytest.mark.parametrize(
    ("species", "region", "basis"),
    [
        ("Tilia cordata", "NoEast", "species"),
        ("Tilia cordata", "CenFla", "species_elsewhere"),
        ("Quercus robur", "NoEast", "genus"),
        ("Jacaranda acutifolia", "NoEast", "genus_elsewhere"),
        ("Sorbus aria", "NoEast", "general"),
    ],
)
def test_what_stands_in_is_said(species: str, region: str, basis: str) -> None:
    found = predict("height_from_dbh", species, 30.0, region)
    assert found.basis == basis
    assert bool(found.notes) == (basis != "species")


def test_conifers_and_broadleaves_have_a_last_resort_of_their_own() -> None:
    fir, whitebeam = (choose("height_from_dbh", name).equation.species for name in ("Abies alba", "Sorbus aria"))
    assert (fir, whitebeam) == ("conifer", "broadleaf")
    assert choose("height_from_dbh", "Nova species", conifer=True).equation.species == "conifer"


def test_a_cultivar_and_another_name_find_the_species() -> None:
    assert name_of("Platanus × hispanica 'Pyramidalis'") == name_of("Platanus x acerifolia")
    assert choose("crown_from_dbh", "Tilia cordata 'Greenspire'", "NoEast").basis == "species"


@pytest.mark.parametrize("name", ["Phoenix canariensis", "Phoenix dactylifera 'Medjool'", "Washingtonia robusta"])
def test_palms_are_refused(name: str) -> None:
    with pytest.raises(MethodProblem, match="palm"):
        predict("height_from_dbh", name, 30.0)


def test_an_unknown_region_or_kind_is_refused() -> None:
    with pytest.raises(MethodProblem) as caught:
        choose("height_from_dbh", "Tilia cordata", "Atlantis")
    assert caught.value.fields[0].pointer == "/region"
    with pytest.raises(ValueError, match="kind"):
        choose("volume", "Tilia cordata")
    with pytest.raises(MethodProblem):
        name_of("''")


@given(SPECIES, st.floats(5, 60))
def test_an_age_read_backwards_gives_the_stem_again(species: str, dbh: float) -> None:
    found = age_years(species, dbh)
    assert found.low <= found.value <= found.high
    if not found.outside:
        assert predict("dbh_from_age", species, found.value).value == pytest.approx(dbh, rel=0.03, abs=0.3)


def test_a_stem_thicker_than_any_of_its_equation_is_said_to_be_outside() -> None:
    found = age_years("Tilia cordata", 400.0)
    assert found.outside
    assert "400 cm lies outside" in found.notes[-1]


def test_every_equation_of_the_table_can_be_evaluated_over_its_range() -> None:
    for rows in equations().values():
        for one in rows:
            values = one.at([one.x_least, (one.x_least + one.x_most) / 2, one.x_most, 1e6])
            assert (values >= one.y_least).all()
            assert (values <= one.y_most).all()
            assert 0 < one.low <= 1 <= one.high
