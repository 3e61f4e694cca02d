"""Species to settle, on the pages: the list, one click, the search for another species, no tree."""

from pathlib import Path

import pytest
from django.test import Client

from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.models import SpeciesSettlement, Tree
from tests.support import build, intake
from tests.support.intake import species  # noqa: F401 (fixture)
from tests.support.pages import text, visitor
from tests.support.query_counts import counted

pytestmark = pytest.mark.django_db
LIST, ONE, SETTLE = "/species-to-settle", "/species-to-settle/text", "/species-to-settle/settle"


def load(folder: Path, texts: list[str], start: int = 1) -> None:
    rows = [intake.row(start + at, species=words) for at, words in enumerate(texts)]
    loading.load(SERVICE, intake.source(folder, rows, f"trees-{start}.csv"), intake.mapping())


@pytest.fixture
def desk(species: None, tmp_path: Path) -> Client:  # noqa: F811
    load(tmp_path, ["Lindn tree", "Lindn Tree", "Tilia cordota", "Ulmus 'Wild <b>'"])
    return visitor(build.user("forester"))


def test_the_list_shows_each_text_once_with_what_it_may_mean(desk: Client) -> None:
    answer = desk.get(LIST)
    told = [(one.key, one.trees) for one in answer.context["queue"].questions]
    assert told == [("lindn tree", 2), ("tilia cordota", 1), ("ulmus wild b", 1)]
    shown = text(answer)
    assert "2 spellings" in shown
    assert b'value="species:Tilia cordata"' in answer.content
    assert b"<b>" not in answer.content


def test_one_click_settles_and_returns_to_the_list_as_it_was(desk: Client) -> None:
    sent = {"key": "tilia cordota", "choice": "species:Tilia cordata", "how": "corrected", "q": ""}
    answer = desk.post(SETTLE, sent, follow=True)
    assert answer.redirect_chain == [(f"{LIST}?how=corrected", 302)]
    assert "is settled: Tilia cordata" in text(answer)
    assert "No text that waits is like that" in text(answer)
    assert SpeciesSettlement.objects.get().species is not None


def test_another_species_is_found_by_name_and_chosen(desk: Client) -> None:
    answer = desk.get(ONE, {"key": "lindn tree", "find": "London plane"})
    assert answer.context["choices"][0]["botanical_name"] == "Platanus × hispanica"
    desk.post(SETTLE, {"key": "lindn tree", "choice": "species:Platanus × hispanica", "why": "seen"})
    assert Tree.objects.filter(species__botanical_name="Platanus × hispanica").count() == 2
    again = desk.get(ONE, {"key": "lindn tree"})
    assert "Settle it anew below" in text(again)
    assert "(seen)" in text(again)


def test_no_tree_and_back(desk: Client) -> None:
    answer = desk.post(SETTLE, {"key": "lindn tree", "choice": "no_tree"}, follow=True)
    assert "2 trees are recorded as no tree" in text(answer)
    answer = desk.post(SETTLE, {"key": "lindn tree", "choice": "text"}, follow=True)
    assert "2 trees stand again" in text(answer)


@pytest.mark.parametrize("choice", ["", "species:Arbor ignota", "species", "perhaps"])
def test_a_choice_that_is_none_changes_nothing(desk: Client, choice: str) -> None:
    answer = desk.post(SETTLE, {"key": "lindn tree", "choice": choice}, follow=True)
    assert "Choose what the text means" in text(answer)
    assert not SpeciesSettlement.objects.exists()


def test_a_text_of_no_tree_is_not_found(desk: Client) -> None:
    assert desk.get(ONE, {"key": "never heard"}).status_code == 404
    assert desk.get(ONE).status_code == 400
    assert desk.get(LIST, {"after": "abc"}).status_code == 400


def test_who_may_only_read_sees_no_button(desk: Client) -> None:
    reader = visitor(build.user("auditor"))
    assert b"<button" not in reader.get(LIST).content.split(b"<ul class")[-1]
    assert reader.post(SETTLE, {"key": "lindn tree", "choice": "text"}).status_code == 403
    assert reader.get(ONE, {"key": "lindn tree"}).status_code == 200


def test_the_queries_do_not_grow_with_the_texts(desk: Client, tmp_path: Path) -> None:
    desk.get(LIST)
    one = counted(lambda: desk.get(LIST))
    load(tmp_path, [f"Arbor {word} ignota" for word in ("ab", "cd", "ef", "gh", "ij")], start=40)
    assert counted(lambda: desk.get(LIST)) == one
