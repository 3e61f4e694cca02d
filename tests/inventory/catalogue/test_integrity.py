"""The two tables of the catalogue agree with themselves and with each other."""

from collections import Counter, defaultdict

import pytest

from inventory.catalogue import NameRow, SpeciesRow, every_name, read_names, read_species
from inventory.intake.names import fold


@pytest.fixture(scope="module")
def species() -> list[SpeciesRow]:
    return read_species()


@pytest.fixture(scope="module")
def names() -> list[NameRow]:
    return read_names()


def test_there_are_at_least_320_taxa(species: list[SpeciesRow]) -> None:
    assert len(species) >= 320
    assert sum(row.rank != "genus" for row in species) >= 250


def test_every_genus_has_a_row_of_its_own(species: list[SpeciesRow]) -> None:
    genera = {row.botanical_name for row in species if row.rank == "genus"}
    assert {row.genus for row in species} == genera


def test_a_genus_has_one_family(species: list[SpeciesRow]) -> None:
    families = defaultdict(set)
    for row in species:
        families[row.genus].add(row.family)
    assert {genus: found for genus, found in families.items() if len(found) > 1} == {}
    assert [row.family for row in species if not row.family.endswith("aceae")] == []


def test_names_are_put_together_from_genus_and_epithet(species: list[SpeciesRow]) -> None:
    for row in species:
        if row.rank == "genus":
            assert row.botanical_name == row.genus
        elif row.rank == "species" or row.epithet.startswith("'") or row.genus.startswith("×"):
            assert row.botanical_name == f"{row.genus} {row.epithet}"
        else:
            assert row.botanical_name == f"{row.genus} × {row.epithet}"


def test_no_two_accepted_names_fold_to_one(species: list[SpeciesRow]) -> None:
    folded = Counter(fold(row.botanical_name) for row in species)
    assert [name for name, times in folded.items() if times > 1] == []


def test_a_name_is_given_once_in_a_language(names: list[NameRow]) -> None:
    folded = Counter((fold(row.name), row.language) for row in names)
    assert [name for name, times in folded.items() if times > 1] == []


def test_no_synonym_is_an_accepted_name(species: list[SpeciesRow], names: list[NameRow]) -> None:
    accepted = {fold(row.botanical_name) for row in species}
    assert [row.name for row in names if row.kind == "synonym" and fold(row.name) in accepted] == []


def test_a_name_means_the_same_taxon_in_every_language() -> None:
    meanings = defaultdict(set)
    for botanical, name, _kind, _language in every_name():
        meanings[fold(name)].add(botanical)
    assert {name: found for name, found in meanings.items() if len(found) > 1} == {}


def test_every_name_belongs_to_a_taxon_and_every_taxon_has_an_english_name(
    species: list[SpeciesRow], names: list[NameRow]
) -> None:
    accepted = {row.botanical_name for row in species}
    assert {row.botanical_name for row in names} <= accepted
    assert accepted - {row.botanical_name for row in names if row.language == "en"} == set()


def test_the_commonest_european_trees_have_names_in_all_languages(names: list[NameRow]) -> None:
    have = defaultdict(set)
    for row in names:
        have[row.botanical_name].add(row.language)
    everywhere = [name for name, languages in have.items() if {"en", "fr", "de", "es", "it", "nl"} <= languages]
    assert len(everywhere) >= 60


def test_a_genus_is_at_least_as_large_as_each_of_its_species(species: list[SpeciesRow]) -> None:
    genera = {row.botanical_name: row for row in species if row.rank == "genus"}
    for row in species:
        genus = genera[row.genus]
        assert genus.mature_height_m >= row.mature_height_m, row.botanical_name
        assert genus.mature_crown_m >= row.mature_crown_m, row.botanical_name
        assert genus.max_dbh_cm >= row.max_dbh_cm, row.botanical_name


def test_sizes_are_those_of_trees(species: list[SpeciesRow]) -> None:
    for row in species:
        assert 2 <= row.mature_height_m <= 60, row.botanical_name
        assert 2 <= row.mature_crown_m <= 40, row.botanical_name
        assert 15 <= row.max_dbh_cm <= 500, row.botanical_name
        # No tree is a third as thick as it is tall, and even the bottle trees of the list stay below that.
        assert row.max_dbh_cm <= 35 * row.mature_height_m, row.botanical_name


def test_palms_are_exactly_the_palm_family(species: list[SpeciesRow]) -> None:
    for row in species:
        assert row.palm == (row.family == "Arecaceae"), row.botanical_name


def test_conifers_are_evergreen_but_for_the_known_deciduous_genera(species: list[SpeciesRow]) -> None:
    deciduous = {"Larix", "Metasequoia", "Taxodium"}
    conifers = {"Pinaceae", "Cupressaceae", "Taxaceae", "Araucariaceae", "Podocarpaceae", "Sciadopityaceae"}
    for row in species:
        if row.family in conifers:
            assert row.evergreen == (row.genus not in deciduous), row.botanical_name


@pytest.mark.parametrize(
    ("name", "walling"),
    [
        # Lists of genera in the literature on compartmentalisation; they differ between authors.
        ("Quercus robur", "strong"),
        ("Carpinus betulus", "strong"),
        ("Fagus sylvatica", "strong"),
        ("Tilia cordata", "strong"),
        ("Robinia pseudoacacia", "strong"),
        ("Acer pseudoplatanus", "strong"),
        ("Acer saccharum", "strong"),
        ("Platanus × hispanica", "strong"),
        ("Juglans regia", "strong"),
        ("Gleditsia triacanthos", "strong"),
        ("Fraxinus excelsior", "moderate"),
        ("Acer saccharinum", "weak"),
        ("Acer negundo", "weak"),
        ("Pinus nigra", "weak"),
        ("Aesculus hippocastanum", "weak"),
        ("Betula pendula", "weak"),
        ("Populus nigra", "weak"),
        ("Salix alba", "weak"),
        ("Prunus avium", "weak"),
        ("Malus domestica", "weak"),
    ],
)
def test_walling_off_decay_follows_the_lists_of_genera(species: list[SpeciesRow], name: str, walling: str) -> None:
    assert next(row.walls_off_decay for row in species if row.botanical_name == name) == walling


@pytest.mark.parametrize(
    ("genus", "family"),
    [
        # Families that changed with molecular botany: APG IV 2016, Bot. J. Linn. Soc. 181: 1-20.
        ("Acer", "Sapindaceae"),
        ("Aesculus", "Sapindaceae"),
        ("Tilia", "Malvaceae"),
        ("Celtis", "Cannabaceae"),
        ("Paulownia", "Paulowniaceae"),
        ("Liquidambar", "Altingiaceae"),
        ("Nyssa", "Nyssaceae"),
        ("Cordyline", "Asparagaceae"),
        ("Syringa", "Oleaceae"),
        ("Myoporum", "Scrophulariaceae"),
        ("Lagerstroemia", "Lythraceae"),
        # Christenhusz et al. 2011, Phytotaxa 19: 55-70: the former Taxodiaceae are Cupressaceae.
        ("Taxodium", "Cupressaceae"),
        ("Sequoia", "Cupressaceae"),
        ("Metasequoia", "Cupressaceae"),
    ],
)
def test_families_are_those_accepted_today(species: list[SpeciesRow], genus: str, family: str) -> None:
    assert {row.family for row in species if row.genus == genus} == {family}
