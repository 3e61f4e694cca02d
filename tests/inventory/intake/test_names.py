"""Names of foreign files are read in every dress cities give them, and never guessed."""

import csv
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.catalogue import every_name, read_species
from inventory.intake.folding import settled_key, unaccented
from inventory.intake.names import Catalogue, Match, Settled, fold, is_not_a_tree
from tests.support.open_data import open_data

SMALL = [
    ("Acer", "Maple", "common", "en"),
    ("Acer", "Érable", "common", "fr"),
    ("Acer platanoides", "Norway maple", "common", "en"),
    ("Acer rubrum", "Red maple", "common", "en"),
    ("Acer nigrum", "Acer saccharum subsp. nigrum", "synonym", "la"),
    ("Acer saccharum", "Sugar maple", "common", "en"),
    ("Afrocarpus gracilior", "Fern pine", "common", "en"),
    ("Arbutus 'Marina'", "Marina strawberry tree", "common", "en"),
    ("Arbutus", "Arbutus", "common", "en"),
    ("Gleditsia triacanthos", "Acacia de tres espinas", "common", "es"),
    ("Acacia", "Wattle", "common", "en"),
    ("Melaleuca", "Callistemon", "synonym", "la"),
    ("Melaleuca citrina", "Callistemon citrinus", "synonym", "la"),
    ("Pinus", "Pine", "common", "en"),
    ("Platanus", "Plane", "common", "en"),
    ("Platanus × hispanica", "Platanus × acerifolia", "synonym", "la"),
    ("Platanus × hispanica", "London plane", "common", "en"),
    ("Podocarpus", "Podocarpus", "common", "en"),
    ("Quercus", "Oak", "common", "en"),
    ("Quercus agrifolia", "Coast live oak", "common", "en"),
    ("Quercus robur", "English oak", "common", "en"),
    ("Tilia cordata", "Little-leaf linden", "common", "en"),
    ("× Chitalpa tashkentensis", "Chitalpa tree", "common", "en"),
    ("Ulmus", "Elm", "common", "en"),
    ("Yucca", "Yucca", "common", "en"),
]


@pytest.fixture(scope="module")
def small() -> Catalogue:
    return Catalogue(SMALL)


@pytest.fixture(scope="module")
def whole() -> Catalogue:
    return Catalogue(every_name())


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("ACER  Rubrum", "acer rubrum"),
        ("Platanus x hispanica", "platanus hispanica"),
        ("Platanus X hispanica", "platanus hispanica"),
        ("Platanus ×hispanica", "platanus hispanica"),
        ("TILIA EUCHLORA   X", "tilia euchlora"),
        ("x Cupressocyparis leylandii", "cupressocyparis leylandii"),
        ("MAGNOLIA XX", "magnolia"),
        ("Abies koreana x lasiocarpa", "abies koreana x lasiocarpa"),
        ("Acer rubrum 'Red Sunset'", "acer rubrum"),
        ("Ulmus minor `Sarniensis`", "ulmus minor"),
        ("Aesculus x carnea ''Briotii''", "aesculus carnea"),
        ("Aesculus x carnea 'O'Neill'", "aesculus carnea"),
        ("Ficus microcarpa “Green Gem”", "ficus microcarpa"),
        ("Magnolia grandiflora 'D.D. Blanchard'", "magnolia grandiflora"),
        ("Arbutus 'Marina'", "arbutus 'marina'"),
        ("Malus sp. `Donald Wyman`", "malus 'donald wyman'"),
        ("Tilia sp.", "tilia"),
        ("Tilia spp", "tilia"),
        ("ACER SPECIES", "acer"),
        ("Malus spp. & cv.", "malus"),
        ("Quercus hybrid", "quercus"),
        ("Gleditsia triacanthos f. inermis", "gleditsia triacanthos inermis"),
        ("Acer tataricum ssp. ginnala", "acer tataricum ginnala"),
        ("Cornus florida var. rubra", "cornus florida rubra"),
        ("Ulmus glabra Huds.", "ulmus glabra"),
        ("Quercus petraea (Matt.) Liebl.", "quercus petraea"),
        ("Érable à sucre", "erable a sucre"),
        ("Bailey's Acacia", "baileys acacia"),
        ("Fustet d'' Amérique", "fustet d amerique"),
        ("crus-galli", "crus galli"),
        ("Arbre aux quarante écus", "arbre aux quarante ecus"),
        ("Aulne à feuilles en cœur", "aulne a feuilles en coeur"),
        ("", ""),
    ],
)
def test_fold_leaves_what_tells_one_taxon_from_another(text: str, folded: str) -> None:
    assert fold(text) == folded


@pytest.mark.parametrize(
    ("text", "name", "how"),
    [
        ("Acer rubrum", "Acer rubrum", "exact"),
        ("ACER RUBRUM 'OCTOBER GLORY'", "Acer rubrum", "exact"),
        ("Acer rubrum var. trilobum Torr. & A.Gray", "Acer rubrum", "exact"),
        ("Platanus hispanica", "Platanus × hispanica", "exact"),
        ("Platanus xhispanica", "Platanus × hispanica", "exact"),
        ("Chitalpa tashkentensis", "× Chitalpa tashkentensis", "exact"),
        ("Arbutus 'Marina' :: Hybrid Strawberry Tree", "Arbutus 'Marina'", "exact"),
        ("PLATANUS ACERIFOLIA   X", "Platanus × hispanica", "synonym"),
        ("Acer saccharum subsp. nigrum", "Acer nigrum", "synonym"),
        ("Callistemon citrinus 'Little John'", "Melaleuca citrina", "synonym"),
        ("Norway Maple", "Acer platanoides", "common"),
        ("Maple, Norway", "Acer platanoides", "common"),
        ("MAPLE, RED 'AUTUMN FLAME'", "Acer rubrum", "common"),
        ("Oak, Live, Coast", "Quercus agrifolia", "common"),
        ("Red maple tree", "Acer rubrum", "common"),
        ("Littleleaf Linden", "Tilia cordata", "common"),
        ("érable", "Acer", "common"),
        ("Sycamore: London Plane", "Platanus × hispanica", "common"),
        (":: Red Maple", "Acer rubrum", "common"),
        ("Unheard of :: Red Maple", "Acer rubrum", "common"),
        ("Acer rubrum :: Norway Maple", "Acer rubrum", "exact"),
        ("Red maple: Norway maple", "Acer", "common"),
        ("Acacia de tres espinas", "Gleditsia triacanthos", "common"),
        ("Acer", "Acer", "genus"),
        ("Acer sp.", "Acer", "genus"),
        ("Acer spp :: Red maple", "Acer", "genus"),
        ("Acer rubrrum", "Acer rubrum", "corrected"),
        ("Podocarpus gracilor :: Fern Pine", "Afrocarpus gracilior", "corrected"),
        ("Bowhall red maple", "Acer", "genus"),
        ("Callistemon phoeniceus", "Melaleuca", "genus"),
        ("Ulmus `Dodoens`", "Ulmus", "genus"),
        ("Quercus robur x petraea", "Quercus", "genus"),
        ("Quercus robur / Quercus agrifolia", "Quercus", "genus"),
        ("Acer rubrum or Acer platanoides", "Acer", "genus"),
    ],
)
def test_a_text_is_matched_by_the_surest_name_it_holds(small: Catalogue, text: str, name: str, how: str) -> None:
    assert small.match(text) == Match(name, how, text)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "::",
        "Unknown",
        "Other Tree",
        "Tree(s) ::",
        "Vacant site",
        "Stump",
        "Acer platanoides stump",
        "Palm (unknown Genus) :: Palm Spp",
        "Akre robrun",
        "Red",
        "Norway",
        "Red maple: London plane",
        "Yucca plum pine",
        "Acacia del campo",
        "Acer rubrum / Quercus robur or so x Quercus",
        "?",
        "12",
    ],
)
def test_what_is_not_known_is_not_guessed(small: Catalogue, text: str) -> None:
    found = small.match(text)
    assert (found.botanical_name, found.how) == (None, "none")


def test_a_common_name_of_two_taxa_means_their_genus_or_nothing() -> None:
    catalogue = Catalogue(
        [
            ("Quercus", "Oak", "common", "en"),
            ("Quercus virginiana", "Live oak", "common", "en"),
            ("Quercus agrifolia", "Live oak", "common", "en"),
            ("Carpinus caroliniana", "Ironwood", "common", "en"),
            ("Ostrya virginiana", "Ironwood", "common", "en"),
        ]
    )
    assert catalogue.match("live oak").botanical_name == "Quercus"
    assert catalogue.match("ironwood").how == "none"


def test_latin_goes_before_everyday_speech() -> None:
    catalogue = Catalogue(
        [("Sophora", "Kowhai", "common", "en"), ("Styphnolobium japonicum", "Sophora", "common", "fr")]
    )
    assert catalogue.match("Sophora") == Match("Sophora", "genus", "Sophora")


def test_many_texts_are_matched_once_each_in_their_order(small: Catalogue) -> None:
    texts = ["Acer rubrum", "Elm", "Acer rubrum", "what"]
    found = small.match_many(texts)
    assert list(found) == ["Acer rubrum", "Elm", "what"]
    assert [match.botanical_name for match in found.values()] == ["Acer rubrum", "Ulmus", None]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Vacant site", "vacant"),
        ("VACANT PLANTING SITE", "vacant"),
        ("Potential Site :: Potential Site", "vacant"),
        ("PLANTING SITE-SMALL", "vacant"),
        ("NO ROOM FOR REPLANT", "vacant"),
        ("Empty tree well", "vacant"),
        ("Emplacement vide", "vacant"),
        ("Fosse de plantation vide", "vacant"),
        ("Lege plantplaats", "vacant"),
        ("Leerer Standort", "vacant"),
        ("Unbepflanzte Baumscheibe", "vacant"),
        ("Alcorque vacío", "vacant"),
        ("Stump", "stump"),
        ("STUMPS", "stump"),
        ("Tree stump - to be ground", "stump"),
        ("Souche", "stump"),
        ("Boomstronk", "stump"),
        ("Stobbe", "stump"),
        ("Baumstumpf", "stump"),
        ("Wurzelstock", "stump"),
        ("Stock", None),
        ("NO TREE AT THIS SITE", "vacant"),
        ("Tocón", "stump"),
        ("Dead Tree", None),
        ("Unknown", None),
        ("Onbekend", None),
        ("Non spécifié", None),
        ("Other tree", None),
        ("Tree(s) ::", None),
        ("Acer platanoides", None),
        ("Pinus (open grown)", None),
        ("", None),
    ],
)
def test_places_without_a_tree_are_told_in_five_languages(text: str, kind: str | None) -> None:
    assert is_not_a_tree(text) == kind


def test_no_name_of_a_tree_is_taken_for_a_place_without_one() -> None:
    assert [name for _botanical, name, _kind, _language in every_name() if is_not_a_tree(name)] == []


def test_every_name_of_the_catalogue_leads_to_its_taxon(whole: Catalogue) -> None:
    wrong = {
        name: found.botanical_name
        for botanical, name, _kind, _language in every_name()
        if (found := whole.match(name)).botanical_name != botanical
    }
    assert wrong == {}


def test_no_epithet_begins_with_x_so_a_glued_cross_can_be_read() -> None:
    assert [row.botanical_name for row in read_species() if row.epithet.startswith("x")] == []


@pytest.mark.parametrize("pattern", ["{}", "{} L.", "{} 'Some Cultivar'", "{} :: Anything", "{} var. whatever"])
def test_every_species_is_found_in_every_dress(whole: Catalogue, pattern: str) -> None:
    for row in read_species():
        if row.rank == "species":
            for name in (row.botanical_name, row.botanical_name.upper()):
                assert whole.match(pattern.format(name)).botanical_name == row.botanical_name


@pytest.mark.parametrize(
    ("old", "accepted"),
    [
        # Well-known changes of name; common practice, no single source.
        ("Sophora japonica", "Styphnolobium japonicum"),
        ("Tristania conferta", "Lophostemon confertus"),
        ("Platanus x acerifolia", "Platanus × hispanica"),
        ("Tilia x vulgaris", "Tilia × europaea"),
        ("Arecastrum romanzoffianum", "Syagrus romanzoffiana"),
        ("Eucalyptus ficifolia", "Corymbia ficifolia"),
        ("Acer saccharum subsp. nigrum", "Acer nigrum"),
        ("Crataegus oxyacantha", "Crataegus laevigata"),
        ("Ulmus carpinifolia", "Ulmus minor"),
        ("x Cupressocyparis leylandii", "Cupressus × leylandii"),
        ("Podocarpus gracilior", "Afrocarpus gracilior"),
        ("Rhus lancea", "Searsia lancea"),
        ("Tabebuia impetiginosa", "Handroanthus impetiginosus"),
        ("Washingtonia filifera X robusta", "Washingtonia × filibusta"),
    ],
)
def test_older_names_lead_to_the_accepted_one(whole: Catalogue, old: str, accepted: str) -> None:
    assert whole.match(old) == Match(accepted, "synonym", old)


# Pieces of real cells put together at random come nearer to trouble than random letters do.
_PIECES = st.sampled_from(
    ["Acer", "rubrum", "x", "X", "×", "sp.", "spp", "'Marina'", "''", "'", "`", "(", ")", "::", ":", ",", "/", "var.",
     "f.", "L.", "Mill.", "ex", "hybrid", "species", "Maple", "Norway", "tree", "\u00b4", "\u02bc", "ß", "ı", "İ", "ŉ"]
)  # fmt: skip
_CELLS = st.one_of(st.text(), st.lists(_PIECES).map(" ".join), st.lists(_PIECES).map("".join))


@given(_CELLS)
def test_folding_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)


@given(_CELLS)
def test_matching_never_raises_and_is_of_one_piece(text: str) -> None:
    found = _SMALL.match(text)
    assert found.text == text
    assert (found.botanical_name is None) == (found.how == "none")


@given(_CELLS)
def test_upper_and_lower_case_fold_alike_for_names_without_authors(text: str) -> None:
    plain = fold(text)
    assert fold(plain.upper()) == plain or not plain.isascii()


@given(_CELLS)
def test_the_form_in_which_a_text_is_settled_is_settled_the_same(text: str) -> None:
    assert settled_key(settled_key(text)) == settled_key(text)


def test_texts_of_any_length_have_keys_of_their_own() -> None:
    keys = {settled_key("arbor " * 500 + word) for word in ("alba", "nigra")}
    assert len(keys) == 2
    assert max(map(len, keys)) <= 600


@given(st.sampled_from(list(every_name())), st.sampled_from((str.upper, str.lower, unaccented, "  ".join)))
def test_case_accents_and_spaces_never_change_a_match(
    name: tuple[str, str, str, str], dress: Callable[..., str]
) -> None:
    text = name[1]
    dressed = f" {'   '.join(text.split())} " if dress == "  ".join else dress(text)
    found, other = _WHOLE.match(text), _WHOLE.match(dressed)
    assert (other.botanical_name, other.how) == (found.botanical_name, found.how)


@given(_CELLS, st.booleans())
def test_what_a_person_settled_goes_before_every_name(text: str, tree: bool) -> None:
    key = settled_key(text)
    said = Settled("Ulmus", False) if tree else Settled(None, True)
    found = Catalogue(SMALL, {key: said} if key else {}).match(f"  {text.upper()} ")
    settled = key != "" and settled_key(text.upper()) == key
    assert (found.how == "settled") == settled
    if settled:
        assert (found.botanical_name, found.no_tree) == (said.botanical_name, said.no_tree)


_SMALL = Catalogue(SMALL)
_WHOLE = Catalogue(every_name())


def test_ten_thousand_rows_are_matched_text_by_text_and_not_row_by_row(
    whole: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Source of the rows: City of San Francisco, Street Tree List. How long it takes is the benchmark's matter."""
    with open_data("inventories/san_francisco_street_trees_10000.csv").open(encoding="utf-8", newline="") as file:
        texts = [row["species"] for row in csv.DictReader(file)]
    asked: list[str] = []
    match = Catalogue.match

    def counted(self: Catalogue, text: str) -> Match:
        asked.append(text)
        return match(self, text)

    monkeypatch.setattr(Catalogue, "match", counted)
    found = whole.match_many(texts)
    assert len(asked) == len(set(texts)) == len(found) < 300
    known = sum(found[text].how != "none" for text in texts)
    of_species = sum(" " in (found[text].botanical_name or "") for text in texts)
    assert known >= 0.97 * len(texts)
    assert of_species >= 0.90 * len(texts)
