"""The species catalogue by REST: found by any of its names."""

import pytest

from inventory.models import SpeciesName
from tests.support import build
from tests.support.http import V1, caller

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _catalogue(db: None) -> None:
    lime = build.species("Tilia cordata")
    build.species("Tilia platyphyllos", common_en="large-leaved lime")
    build.species("Quercus robur", family="Fagaceae", common_en="English oak")
    build.species("Platanus × hispanica", family="Platanaceae", common_en="London plane", rank="hybrid")
    SpeciesName.objects.create(species=lime, name="Tilia parvifolia", language="la", kind="synonym")
    SpeciesName.objects.create(species=lime, name="Winterlinde", language="de", kind="common")


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("tilia", ["Tilia cordata", "Tilia platyphyllos"]),
        ("winterlinde", ["Tilia cordata"]),
        ("parvifolia", ["Tilia cordata"]),
        ("oak", ["Quercus robur"]),
        ("Quercus rubor", ["Quercus robur"]),  # misspelt
        ("×", ["Platanus × hispanica"]),
        ("xyzzy", []),
        ("%", []),
    ],
)
def test_a_species_is_found_by_any_name(words: str, names: list[str]) -> None:
    answer = caller().get(f"{V1}/species", {"q": words})
    assert [item["botanical_name"] for item in answer.json()["items"]] == names
    assert answer.json()["next"] is None


def test_the_whole_catalogue_is_paged() -> None:
    answer = caller().get(f"{V1}/species", {"limit": "3"})
    assert len(answer.json()["items"]) == 3
    (last,) = caller().get(answer.json()["next"]).json()["items"]
    assert last["common_en"] == "London plane"
    first = answer.json()["items"][0]
    assert {name["name"] for name in first["names"]} == {"Tilia parvifolia", "Winterlinde"}
