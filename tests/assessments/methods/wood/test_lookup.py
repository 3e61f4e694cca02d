"""Wood is found by species, else by genus, and the answer says which."""

import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.wood import find
from assessments.methods.wood.drag import DEFAULT, drag_of
from assessments.methods.wood.tables import genera, sources, species


@pytest.mark.parametrize(
    "name",
    ["Fraxinus pennsylvanica", "fraxinus  PENNSYLVANICA", "Fraxinus pennsylvanica 'Marshall'", "green ash"],
)
def test_a_species_is_found_however_it_is_written(name: str) -> None:
    assert find(name).basic_kg_m3.value == 530
    assert find(name).basic_kg_m3.basis == "species"


@pytest.mark.parametrize("name", ["Platanus x acerifolia", "Platanus × hispanica", "Platanus ×hispanica"])
def test_london_plane_is_found_by_its_other_names(name: str) -> None:
    assert find(name).key == "platanus hybrida"


@pytest.mark.parametrize("name", ["Fraxinus ornus", "Fraxinus", "Fraxinus sp."])
def test_a_species_without_a_row_falls_back_to_its_genus_and_says_so(name: str) -> None:
    wood = find(name)
    assert wood.basic_kg_m3.basis == "genus"
    assert "genus Fraxinus" in wood.notes[0]
    densities = [float(row["basic_kg_m3"]) for row in genera()["fraxinus"]]
    assert min(densities) <= wood.basic_kg_m3.value <= max(densities)


@pytest.mark.parametrize("name", ["Nosuchgenus magnus", "", "   ", "x" * 100_000])
def test_an_unknown_genus_is_a_problem_that_names_the_field(name: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        find(name)
    assert caught.value.fields[0].pointer == "/species"


def test_two_sources_that_differ_are_both_named() -> None:
    assert any("330" in note and "500" in note for note in find("Aesculus hippocastanum").notes)


def test_every_source_code_of_the_table_is_spelt_out() -> None:
    codes = {
        row[column].split("/")[0]
        for row in species().values()
        for column in ("basic_source", "moisture_source", "bark_source", "strength_source")
        if row[column]
    }
    assert codes
    assert codes <= sources().keys()


def test_every_number_of_the_table_has_a_source() -> None:
    pairs = {
        "basic_kg_m3": "basic_source",
        "moisture_percent": "moisture_source",
        "bark_volume_percent": "bark_source",
        "compression_mpa": "strength_source",
    }
    missing = [
        (row["scientific"], number)
        for row in species().values()
        for number, source in pairs.items()
        if row[number] and not row[source]
    ]
    assert missing == []


def test_drag_falls_back_to_the_genus_and_then_to_a_wide_default() -> None:
    assert drag_of("acer rubrum", "acer").basis == "genus"
    unknown = drag_of("ginkgo biloba", "ginkgo")
    assert (unknown.low, unknown.best, unknown.high) == DEFAULT


def test_a_leafless_crown_drags_less() -> None:
    leafed = drag_of("tilia cordata", "tilia")
    bare = leafed.leafless()
    assert bare.low < bare.best < bare.high < leafed.best
    assert "low confidence" in bare.notes[-1]
