"""Names in the dresses of many cities, misspelt and turned round; what real names of other plants must not become."""

import csv

import pytest

from inventory.catalogue import every_name
from inventory.intake.folding import plain_words
from inventory.intake.names import Catalogue, Match, fold
from tests.support.open_data import open_data

WHOLE = Catalogue(every_name())


@pytest.mark.parametrize(
    ("text", "name", "how"),
    [
        # letters wrong, swapped or missing in a name of everyday speech
        ("Norway mapel", "Acer platanoides", "corrected"),
        ("Mapel, Norway", "Acer platanoides", "corrected"),
        ("Horsechesnut", "Aesculus hippocastanum", "corrected"),
        ("Tilleul a petite feuilles", "Tilia cordata", "corrected"),
        # turned round, closed up, several, without the dots of an umlaut
        ("Maple Norway", "Acer platanoides", "common"),
        ("MAPLE-NORWAY", "Acer platanoides", "common"),
        ("Ahorn, Spitz-", "Acer platanoides", "common"),
        ("Eik, zomer-", "Quercus robur", "common"),
        ("Plátano, de sombra", "Platanus × hispanica", "common"),
        ("Platane, ahornblaettrige", "Platanus × hispanica", "common"),
        ("Maples", "Acer", "common"),
        # Latin and everyday speech in one cell, in any order and with any sign between them
        ("Norway Maple (Acer platanoides)", "Acer platanoides", "common"),
        ("Some tree (Acer platanoides)", "Acer platanoides", "exact"),
        ("Acer platanoides - Norway maple", "Acer platanoides", "exact"),
        ("Norway maple Acer platanoides", "Acer platanoides", "exact"),
        ("Unheard of | Platanus x acerifolia", "Platanus × hispanica", "synonym"),
        ("ACPL; Acer platanoides", "Acer platanoides", "exact"),
        ("Acacia (Robinia pseudoacacia)", "Robinia pseudoacacia", "exact"),
        ("Acer :: Sugar Maple", "Acer saccharum", "common"),
        # hybrid marks, cultivars, cut-off and shortened names, endings of another gender, a doubled genus
        ("xCupressocyparis leylandii", "Cupressus × leylandii", "synonym"),
        ("Platanus Ã— acerifolia", "Platanus × hispanica", "synonym"),
        ("Prunus 0 yedoensis", "Prunus × yedoensis", "exact"),
        ("Acer «Autumn Blaze»", "Acer", "genus"),
        ("Acer freemanii cv. Autumn Blaze", "Acer × freemanii", "exact"),
        ("Liquidambar styraciflu", "Liquidambar styraciflua", "corrected"),
        ("Acer platan", "Acer platanoides", "corrected"),
        ("A. platanoides", "Acer platanoides", "corrected"),
        ("Acer rubra", "Acer rubrum", "corrected"),
        ("Acer Acer platanoides", "Acer platanoides", "exact"),
        ("QUERCUSROBUR", "Quercus robur", "exact"),
        ("Plantanus", "Platanus", "corrected"),
        # the epithet is right, the genus is not, and the everyday name says which one
        ("Picea flexilis :: Limber Pine", "Pinus flexilis", "corrected"),
        # more than one species: their genus
        ("Quercus robur/petraea", "Quercus", "genus"),
        ("Acer cf. platanoides", "Acer", "genus"),
        # a right epithet of another genus is no misspelling
        ("Populus salicina", "Populus", "genus"),
    ],
)
def test_real_dresses_lead_to_their_taxon(text: str, name: str, how: str) -> None:
    assert WHOLE.match(text) == Match(name, how, text)  # type: ignore[arg-type]


def test_real_names_of_other_plants_are_hardly_ever_taken_for_misspelt_ones() -> None:
    """Source: Zanne et al. 2009, Global wood density database (Dryad, doi 10.5061/dryad.234): names of real plants."""
    path = open_data("wood/global_wood_density_database_2009.csv")
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        names = {f"{row['genus'].strip()} {row['species'].strip()}" for row in csv.DictReader(file)}
    corrected = [(name, found.botanical_name) for name in names if (found := WHOLE.match(name)).how == "corrected"]
    # Other spellings of names in the catalogue are rightly corrected.
    spelt_otherwise = {"Albizia lebbek", "Magnolia liliifera", "Platanus hybridus", "Podocarpus henckelii",
                       "Schizolobium parahybum"}  # fmt: skip
    assert len(names) > 8_000
    assert [pair for pair in corrected if pair[0] not in spelt_otherwise] == []


def test_a_wrong_letter_in_an_everyday_name_hardly_ever_makes_another_tree_of_it() -> None:
    """The names are those of the catalogue; one letter of the longest word is left out."""
    asked, right, wrong = 0, 0, []
    for botanical, name, kind, _language in every_name():
        longest = max(plain_words(name), key=len)
        if kind == "common" and len(longest) >= 6:
            text = name.replace(longest, longest[:3] + longest[4:])
            found = WHOLE.match(text).botanical_name
            asked += 1
            right += found == botanical
            if found and fold(found).split()[0] != fold(botanical).split()[0]:
                wrong.append((text, found, botanical))
    assert right >= 0.8 * asked
    assert len(wrong) <= asked / 200, wrong
