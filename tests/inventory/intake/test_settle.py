"""A text is settled once for all its trees and later files; what a person set on one tree stays."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import services
from inventory.history import SERVICE, Author
from inventory.intake import load as loading
from inventory.intake import review, taxa
from inventory.intake.folding import settled_key
from inventory.intake.settle import NO_TREE, Settling, settle, species_named
from inventory.intake.undo import undo
from inventory.models import Event, IntakeLoad, Species, SpeciesSettlement, Tree
from inventory.problems import Conflict, Invalid
from inventory.services import Size
from tests.support import build, intake
from tests.support.intake import species  # noqa: F401 (fixture)

pytestmark = pytest.mark.django_db
Texts = Sequence[str]


def load(folder: Path, texts: Texts, start: int = 1) -> None:
    rows = [intake.row(start + at, species=text) for at, text in enumerate(texts)]
    loading.load(SERVICE, intake.source(folder, rows, f"trees-{start}.csv"), intake.mapping())


def named() -> dict[str, str]:
    """Of each loaded tree by key: the species it has."""
    found = Tree.objects.order_by("external_key").values_list("external_key", "species__botanical_name")
    return {str(key): name or "" for key, name in found}


def as_species(text: str, name: str, author: Author = SERVICE) -> Settling:
    return settle(author, text, outcome="species", species=species_named(name))


@pytest.fixture
def city_file(species: None, tmp_path: Path) -> Path:  # noqa: F811
    load(tmp_path, ["Arbor ignota", "ARBOR  ignota", "Tilia cordata", "Árbor, ignota", "Arbor ignota magna"])
    return tmp_path


def test_settling_a_text_names_its_trees_in_every_spelling_and_no_other(city_file: Path) -> None:
    done = as_species("arbor ignota", "Acer rubrum")
    assert (done.changed, done.kept) == (3, 0)
    assert named() == {"T1": "Acer rubrum", "T2": "Acer rubrum", "T3": "Tilia cordata", "T4": "Acer rubrum", "T5": ""}
    assert set(Tree.objects.values_list("species_text", flat=True)) >= {"Arbor ignota", "ARBOR  ignota"}


def test_the_act_is_attributed_in_the_settlement_and_in_each_trees_history(city_file: Path) -> None:
    person = build.user("forester")
    done = as_species("Arbor ignota", "Acer rubrum", Author(person.pk, "r-1"))
    assert done.settlement.settled_by_id == person.pk
    past = Tree.objects.get(external_key="T1").past.order_by("-pgh_id")[0]  # type: ignore[attr-defined]
    assert past.pgh_context.metadata["user"] == person.pk
    assert past.pgh_context.metadata["why"] == "species settled: Arbor ignota is Acer rubrum"
    assert Event.objects.get(kind="species.settled").data["changed"] == 3


def test_settling_anew_replaces_and_the_history_keeps_both(city_file: Path) -> None:
    as_species("Arbor ignota", "Acer rubrum")
    done = as_species("ARBOR IGNOTA", "Ulmus minor")
    assert done.changed == 3
    assert named()["T1"] == "Ulmus minor"
    assert SpeciesSettlement.objects.count() == 1
    past = SpeciesSettlement.objects.get().past.order_by("pgh_id")  # type: ignore[attr-defined]
    assert list(past.values_list("species__botanical_name", flat=True)) == ["Acer rubrum", "Ulmus minor"]


def test_settling_the_same_again_changes_nothing(city_file: Path) -> None:
    as_species("Arbor ignota", "Acer rubrum")
    before = list(Tree.objects.order_by("pk").values_list("version", flat=True))
    assert as_species("Arbor ignota", "Acer rubrum").changed == 0
    assert list(Tree.objects.order_by("pk").values_list("version", flat=True)) == before
    assert SpeciesSettlement.objects.get().version == 1


def test_a_text_kept_as_text_takes_a_guess_away(species: None, tmp_path: Path) -> None:  # noqa: F811
    load(tmp_path, ["Tilia ignota"])
    assert named() == {"T1": "Tilia"}
    settle(SERVICE, "Tilia ignota", outcome="text")
    assert named() == {"T1": ""}
    assert review.queue().questions == []


def test_a_later_file_is_matched_by_what_was_settled(city_file: Path) -> None:
    as_species("Arbor ignota", "Acer rubrum")
    settle(SERVICE, "Acer rubrum", outcome="text")
    settle(SERVICE, "Bench", outcome="no_tree")
    load(city_file, ["arbor IGNOTA", "Acer rubrum", "bench"], start=20)
    assert named()["T20"] == "Acer rubrum"
    assert named()["T21"] == ""
    assert not Tree.objects.filter(external_key="T22").exists()
    counts = taxa.from_database().names.match("bench")
    assert (counts.how, counts.no_tree) == ("settled", True)


def test_a_settlement_wins_over_words_that_say_no_tree(species: None, tmp_path: Path) -> None:  # noqa: F811
    as_species("Stump", "Acer rubrum")
    load(tmp_path, ["Stump"])
    assert Tree.objects.get().state == "alive"
    assert named() == {"T1": "Acer rubrum"}


def test_what_a_person_set_on_one_tree_stays(city_file: Path) -> None:
    person = Author(build.user("forester").pk, "r-2")
    tree = Tree.objects.get(external_key="T1")
    quercus = Species.objects.get(botanical_name="Quercus robur")
    services.edit_tree(person, tree, {"species_id": quercus.pk}, version=tree.version, why="seen on the spot")
    done = as_species("Arbor ignota", "Acer rubrum")
    assert (done.changed, done.kept) == (2, 1)
    assert named()["T1"] == "Quercus robur"


def test_an_edit_of_something_else_does_not_keep_a_tree_from_its_settlement(city_file: Path) -> None:
    tree = Tree.objects.get(external_key="T1")
    services.edit_tree(SERVICE, tree, {"note": "a nest"}, version=tree.version, why="seen")
    as_species("Arbor ignota", "Acer rubrum")
    assert named()["T1"] == "Acer rubrum"


def test_a_tree_added_by_hand_keeps_its_species_and_gets_one_where_it_had_none(species: None) -> None:  # noqa: F811
    text: dict[str, Any] = {"species_text": "Arbor ignota"}
    oak = Species.objects.get(botanical_name="Quercus robur")
    with_one = build.tree(0, species_id=oak.pk, **text)
    without = build.tree(30, species_id=None, **text)
    as_species("Arbor ignota", "Acer rubrum")
    as_species("Arbor ignota", "Ulmus minor")
    with_one.refresh_from_db()
    without.refresh_from_db()
    assert (str(with_one.species), str(without.species)) == ("Quercus robur", "Ulmus minor")


def test_no_tree_takes_trees_off_and_settling_anew_puts_them_back(city_file: Path) -> None:
    done = settle(SERVICE, "Arbor ignota", outcome="no_tree")
    assert (done.taken_off, done.kept) == (3, 0)
    tree = Tree.objects.select_related("site").get(external_key="T1")
    assert (tree.state, tree.removal_reason, tree.site and tree.site.state) == ("removed", NO_TREE, "vacant")
    done = as_species("Arbor ignota", "Acer rubrum")
    assert (done.put_back, done.changed) == (3, 3)
    tree.refresh_from_db()
    assert (tree.state, tree.removed_on, tree.site and tree.site.state) == ("alive", None, "planted")


def test_a_tree_with_anything_recorded_on_it_is_never_taken_for_none(city_file: Path) -> None:
    tree = Tree.objects.get(external_key="T1")
    services.measure(SERVICE, tree, Size(measured_on=tree.planted_from, method="tape", dbh_cm=30))  # type: ignore[arg-type]
    done = settle(SERVICE, "Arbor ignota", outcome="no_tree")
    assert (done.taken_off, done.kept) == (2, 1)
    tree.refresh_from_db()
    assert tree.state == "alive"


def test_a_settlement_says_what_is_wrong_and_changes_nothing(city_file: Path) -> None:
    for fields in ({"outcome": "species"}, {"outcome": "text", "species": Species.objects.first()}, {"outcome": "x"}):
        with pytest.raises(Invalid):
            settle(SERVICE, "Arbor ignota", **fields)
    with pytest.raises(Invalid, match="must hold a text"):
        settle(SERVICE, "  ", outcome="text")
    with pytest.raises(Invalid, match="no accepted name"):
        species_named("Arbor ignota")
    assert SpeciesSettlement.objects.count() == 0


def test_nothing_is_settled_while_a_file_is_loaded(city_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Another connection's lock cannot be had in one test transaction: the database's answer is put in its place.
    monkeypatch.setattr("inventory.intake.settle._free", lambda: False)
    with pytest.raises(Conflict, match="being loaded"):
        as_species("Arbor ignota", "Acer rubrum")
    assert SpeciesSettlement.objects.count() == 0


@pytest.mark.parametrize("outcome", ["text", "no_tree"])
def test_a_load_can_be_undone_after_its_texts_were_settled(city_file: Path, outcome: str) -> None:
    settle(SERVICE, "Arbor ignota", outcome=outcome)
    as_species("Tilia cordata", "Acer rubrum")
    undo(SERVICE, IntakeLoad.objects.get().uid)
    assert not Tree.objects.exists()
    assert SpeciesSettlement.objects.count() == 2


def test_no_word_of_a_person_makes_an_edit_a_settling(city_file: Path) -> None:
    tree = Tree.objects.get(external_key="T1")
    services.edit_tree(SERVICE, tree, {"note": "a nest"}, version=tree.version, why="species settled: Arbor is Acer")
    with pytest.raises(Conflict, match="1 trees changed since"):
        undo(SERVICE, IntakeLoad.objects.get().uid)


_WORDS = st.lists(st.sampled_from(["Arbor", "ignota", "ARBOR", "magna", "x", "(alba)", "::", "'Rex'"]), min_size=1)


@given(texts=st.lists(_WORDS.map(" ".join), min_size=1, max_size=5), asked=_WORDS.map(" ".join))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_settling_touches_exactly_the_trees_of_its_text(species: None, texts: list[str], asked: str) -> None:  # noqa: F811
    made = [build.tree(30.0 * at, species_id=None, species_text=text) for at, text in enumerate(texts)]
    if not settled_key(asked):
        return
    as_species(asked, "Acer rubrum")
    for tree, text in zip(made, texts, strict=True):
        tree.refresh_from_db()
        assert (tree.species is not None) == (settled_key(text) == settled_key(asked))
