"""The catalogue against open data sets: names, families, sizes and what real cities plant."""

import csv
import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator

import pytest

from inventory.catalogue import every_name, read_names, read_species
from inventory.intake.names import Catalogue
from tests.support.open_data import open_data

# Trees native to the United States that its streets are planted with; typed from memory.
US_NATIVES = """
Abies balsamea; Abies concolor; Acer macrophyllum; Acer negundo; Acer nigrum; Acer pensylvanicum; Acer rubrum;
Acer saccharinum; Acer saccharum; Aesculus flava; Aesculus glabra; Aesculus californica; Alnus rhombifolia; Alnus rubra;
Arbutus menziesii; Betula lenta; Betula nigra; Betula papyrifera; Betula populifolia; Calocedrus decurrens;
Carpinus caroliniana; Carya cordiformis; Carya glabra; Carya illinoinensis; Carya ovata; Catalpa bignonioides;
Catalpa speciosa; Celtis laevigata; Celtis occidentalis; Cercis canadensis; Chamaecyparis lawsoniana;
Chamaecyparis thyoides; Cladrastis kentukea; Cornus florida; Cornus nuttallii; Diospyros virginiana; Fagus grandifolia;
Fraxinus americana; Fraxinus latifolia; Fraxinus nigra; Fraxinus pennsylvanica; Fraxinus quadrangulata;
Fraxinus velutina; Gleditsia triacanthos; Gymnocladus dioicus; Ilex opaca; Juglans cinerea; Juglans hindsii;
Juglans nigra; Juniperus scopulorum; Juniperus virginiana; Larix laricina; Liquidambar styraciflua;
Liriodendron tulipifera; Maclura pomifera; Magnolia acuminata; Magnolia grandiflora; Magnolia virginiana; Morus rubra;
Nyssa aquatica; Nyssa sylvatica; Ostrya virginiana; Oxydendrum arboreum; Persea borbonia; Picea engelmannii;
Picea glauca; Picea mariana; Picea pungens; Picea sitchensis; Pinus banksiana; Pinus contorta; Pinus coulteri;
Pinus edulis; Pinus flexilis; Pinus jeffreyi; Pinus monticola; Pinus ponderosa; Pinus radiata; Pinus resinosa;
Pinus rigida; Pinus sabiniana; Pinus strobus; Pinus taeda; Pinus virginiana; Platanus occidentalis; Platanus racemosa;
Platanus wrightii; Populus balsamifera; Populus deltoides; Populus fremontii; Populus grandidentata;
Populus tremuloides; Prunus pensylvanica; Prunus serotina; Prunus virginiana; Pseudotsuga menziesii; Quercus agrifolia;
Quercus alba; Quercus bicolor; Quercus chrysolepis; Quercus coccinea; Quercus douglasii; Quercus ellipsoidalis;
Quercus imbricaria; Quercus kelloggii; Quercus laurifolia; Quercus lobata; Quercus lyrata; Quercus macrocarpa;
Quercus michauxii; Quercus muehlenbergii; Quercus nigra; Quercus palustris; Quercus phellos; Quercus rubra;
Quercus shumardii; Quercus stellata; Quercus velutina; Quercus virginiana; Quercus wislizeni; Robinia pseudoacacia;
Sabal palmetto; Salix nigra; Sassafras albidum; Sequoia sempervirens; Sequoiadendron giganteum; Taxodium ascendens;
Taxodium distichum; Taxus brevifolia; Thuja occidentalis; Thuja plicata; Tilia americana; Tsuga canadensis;
Tsuga heterophylla; Ulmus alata; Ulmus americana; Ulmus crassifolia; Ulmus rubra; Umbellularia californica
""".replace("\n", " ").strip()

# Wood data of 2009 stand on older family limits; what became of them (APG IV 2016; Viburnaceae is conserved).
MOVED_SINCE_2009 = {
    ("Aphananthe", "Cannabaceae"),
    ("Calophyllum", "Calophyllaceae"),
    ("Cephalotaxus", "Taxaceae"),
    ("Davidia", "Nyssaceae"),
    ("Nyssa", "Nyssaceae"),
    ("Dracaena", "Asparagaceae"),
    ("Myoporum", "Scrophulariaceae"),
    ("Sambucus", "Viburnaceae"),
    ("Ternstroemia", "Pentaphylacaceae"),
    ("Viburnum", "Viburnaceae"),
}


def _rows(name: str, delimiter: str = ",") -> Iterator[dict[str, str]]:
    with open_data(name).open(encoding="utf-8", errors="replace", newline="") as file:
        yield from csv.DictReader(file, delimiter=delimiter)


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return Catalogue(every_name())


def test_natives_of_the_united_states_are_in_the_catalogue_and_spelt_as_the_forest_service_spells_them() -> None:
    """Source: USDA Forest Service, Forest Inventory and Analysis, REF_SPECIES."""
    natives = [name.strip() for name in US_NATIVES.split(";")]
    ours = {row.botanical_name for row in read_species()}
    assert [name for name in natives if name not in ours] == []
    theirs = {f"{row['GENUS']} {row['SPECIES']}" for row in _rows("wood/FIA_REF_SPECIES.csv")}
    assert [name for name in natives if name not in theirs] == []


def test_english_names_mean_what_the_forest_service_means(catalogue: Catalogue) -> None:
    """Source: USDA Forest Service, Forest Inventory and Analysis, REF_SPECIES (COMMON_NAME)."""
    checked, different = 0, []
    for row in _rows("wood/FIA_REF_SPECIES.csv"):
        latin = catalogue.match(f"{row['GENUS']} {row['SPECIES']}")
        common = catalogue.match(row["COMMON_NAME"])
        if latin.how == "exact" and common.how == "common":
            checked += 1
            # A name that we give to the whole genus is less said, not otherwise said.
            if common.botanical_name not in (latin.botanical_name, (latin.botanical_name or "").split()[0]):
                different.append((row["COMMON_NAME"], latin.botanical_name, common.botanical_name))
    assert checked > 300
    assert len(different) <= 0.03 * checked, different


def test_families_agree_with_the_wood_density_database() -> None:
    """Source: Zanne et al. 2009, Global wood density database, Dryad doi:10.5061/dryad.234."""
    theirs = defaultdict(set)
    for row in _rows("wood/global_wood_density_database_2009.csv"):
        theirs[row["genus"]].add(row["family"])
    ours = {row.genus: row.family for row in read_species()}
    shared = {genus for genus in ours if genus in theirs}
    assert len(shared) > 150
    assert {(genus, ours[genus]) for genus in shared if ours[genus] not in theirs[genus]} == MOVED_SINCE_2009


def test_hardly_a_measured_street_tree_is_larger_than_the_largest_credible_one(catalogue: Catalogue) -> None:
    """Source: McPherson, van Doorn, Peper 2016, Urban Tree Database, RDS-2016-0005, table TS3."""
    largest = {row.botanical_name: row.max_dbh_cm for row in read_species()}
    measured = [(row["ScientificName"], float(row["DBH (cm)"])) for row in _rows("growth/TS3_Raw_tree_data.csv")]
    found = catalogue.match_many(name for name, _dbh in measured)
    known = [(found[name].botanical_name, dbh) for name, dbh in measured]
    over = [(name, dbh) for name, dbh in known if name and dbh > largest[name]]
    assert len(known) > 14_000
    assert len(over) <= 0.001 * len(known), over


def test_the_largest_credible_diameter_finds_the_impossible_trees_of_new_york(catalogue: Catalogue) -> None:
    """Source: NYC Parks 2015 census: a living pin oak of 281 in and a ginkgo of 105 in are typing errors."""
    largest = {row.botanical_name: row.max_dbh_cm for row in read_species()}
    with open_data("inventories/nyc_2015_census_10189_noheader.csv").open(encoding="utf-8", newline="") as file:
        trees = [(row[9], int(row[4])) for row in csv.reader(file) if row[7] == "Alive"]
    found = catalogue.match_many(name for name, _inches in trees)
    over = {(name, inches) for name, inches in trees if inches * 2.54 > largest[found[name].botanical_name or "Acer"]}
    assert {("Quercus palustris", 281), ("Ginkgo biloba", 105)} <= over
    assert len(over) <= 5


def _crude(text: str) -> str:
    """Lower-case letters of the part before "::" and before a cultivar, no crosses: written apart from fold."""
    text = unicodedata.normalize("NFD", text.split("::")[0].split("'")[0].lower())
    words = re.sub(r"[^a-z -]", "", text.replace("×", " ")).split()
    return " ".join(word for word in words if word not in ("x", "sp", "spp"))


def _shares(texts: Iterable[str]) -> tuple[float, float]:
    """Shares of rows whose genus, and whose genus and epithet, are in the tables, by the crude reading."""
    latin = {_crude(row.botanical_name) for row in read_species()}
    latin |= {_crude(row.name) for row in read_names() if row.kind == "synonym"}
    rows = Counter(_crude(text) for text in texts)
    of_genus = sum(times for name, times in rows.items() if name.split(" ")[0] in latin)
    of_species = sum(times for name, times in rows.items() if " " in name and " ".join(name.split(" ")[:2]) in latin)
    return of_genus / rows.total(), of_species / rows.total()


def test_san_francisco_is_covered() -> None:
    """Source: City of San Francisco, Street Tree List (10,000 rows)."""
    texts = [row["species"] for row in _rows("inventories/san_francisco_street_trees_10000.csv")]
    genus, species = _shares(texts)
    assert genus >= 0.97
    assert species >= 0.90


def test_paris_is_covered() -> None:
    """Source: Ville de Paris, Les arbres (2,948 rows)."""
    rows = _rows("inventories/paris_les_arbres_2948.csv", delimiter=";")
    genus, species = _shares(f"{row['GENRE']} {row['ESPECE']}" for row in rows)
    assert genus >= 0.97
    assert species >= 0.90


def test_french_names_of_paris_lead_to_the_genus_beside_them(catalogue: Catalogue) -> None:
    """Source: Ville de Paris, Les arbres: LIBELLE FRANCAIS beside GENRE."""
    agree: Counter[bool] = Counter()
    for row in _rows("inventories/paris_les_arbres_2948.csv", delimiter=";"):
        common, genus = catalogue.match(row["LIBELLE FRANCAIS"]), catalogue.match(row["GENRE"])
        if common.how == "common" and genus.botanical_name:
            agree[(common.botanical_name or "").split()[0] == genus.botanical_name] += 1
    assert agree.total() > 2500
    assert agree[False] <= 0.01 * agree.total()


def test_dutch_names_of_amsterdam_lead_to_the_genus_beside_them(catalogue: Catalogue) -> None:
    """Source: Gemeente Amsterdam, trees of IJburg and the Wallengebied: Soortnaam_NL beside Soortnaam_WTS."""
    agree: Counter[bool] = Counter()
    for name in ("ijburg", "wallengebied"):
        for row in _rows(f"inventories/amsterdam_{name}_trees.csv"):
            dutch, latin = catalogue.match(row["Soortnaam_NL"]), catalogue.match(row["SOORT_KORT"])
            if dutch.how == "common" and latin.botanical_name:
                agree[(dutch.botanical_name or "").split()[0] == latin.botanical_name] += 1
    assert agree.total() > 3000
    assert agree[False] == 0
