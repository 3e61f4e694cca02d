"""Strength comes from one named data set, species before genus, and never from a mixture."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.wood import find, from_density, strength_of


def test_the_handbook_is_taken_where_it_has_the_species_and_the_other_value_is_named() -> None:
    found = strength_of(find("Quercus rubra"))
    assert found is not None
    assert (found.data_set, found.basis, found.compression_mpa) == ("handbook", "species", 23.7)
    assert any("20" in note and "not mixed" in note for note in found.notes)


def test_the_catalogue_is_taken_for_a_european_species_and_marked_as_from_memory() -> None:
    found = strength_of(find("Tilia cordata"))
    assert found is not None
    assert (found.data_set, found.basis, found.compression_mpa, found.rupture_mpa) == ("catalogue", "species", 20, None)
    assert any("from memory" in note for note in found.notes)


@pytest.mark.parametrize(("data_set", "basis"), [("handbook", "genus"), ("catalogue", "genus"), ("density", "density")])
def test_a_fallback_is_marked_and_has_more_scatter(data_set: str, basis: str) -> None:
    own = strength_of(find("Quercus rubra"))
    found = strength_of(find("Quercus frainetto"), data_set)
    assert own is not None
    assert found is not None
    assert (found.data_set, found.basis) == (data_set, basis)
    assert found.variation > own.variation


def test_a_genus_that_a_data_set_lacks_has_no_strength_in_it() -> None:
    assert strength_of(find("Ginkgo biloba"), "handbook") is None
    assert strength_of(find("Ginkgo biloba"), "catalogue") is None
    fallback = strength_of(find("Ginkgo biloba"))
    assert fallback is not None
    assert fallback.basis == "density"


@given(st.floats(200, 1000), st.floats(200, 1000), st.sampled_from(["hardwood", "softwood"]))
def test_denser_wood_is_never_weaker(first: float, second: float, group: str) -> None:
    light, heavy = sorted((first, second))
    assert all(a <= b for a, b in zip(from_density(light, group), from_density(heavy, group), strict=True))
