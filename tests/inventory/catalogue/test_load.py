"""The catalogue in the database: all of it, once, corrected where it changed."""

import pytest

from inventory import catalogue
from inventory.catalogue import load
from inventory.models import Species, SpeciesName

pytestmark = pytest.mark.django_db


def test_the_whole_catalogue_is_loaded_and_a_second_time_changes_nothing() -> None:
    counts = load.apply()
    assert counts["species"] == Species.objects.count() == len(catalogue.read_species())
    assert counts["names"] == SpeciesName.objects.count()
    assert load.apply() == {"species": 0, "names": 0}


def test_every_unambiguous_name_is_there() -> None:
    load.apply()
    there = set(SpeciesName.objects.values_list("species__botanical_name", "name", "language"))
    meant: dict[tuple[str, str], set[str]] = {}
    for row in catalogue.read_names():
        meant.setdefault((row.name, row.language), set()).add(row.botanical_name)
    expected = {(next(iter(taxa)), *key) for key, taxa in meant.items() if len(taxa) == 1}
    assert there == expected


def test_a_changed_row_is_corrected_and_a_row_of_the_city_stays() -> None:
    load.apply()
    Species.objects.filter(botanical_name="Tilia cordata").update(family="Rosaceae")
    Species.objects.create(botanical_name="Tilia urbana", rank="species", genus="Tilia", family="Malvaceae")
    assert load.apply()["species"] == 1
    assert Species.objects.get(botanical_name="Tilia cordata").family == "Malvaceae"
    assert Species.objects.filter(botanical_name="Tilia urbana").exists()
