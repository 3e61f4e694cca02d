"""The review of species texts by REST: a journey from a loaded file to a settled text, and its bounds."""

from pathlib import Path
from typing import Any

import pytest

from assessments.models import Mark
from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.models import Event, SpeciesSettlement, Tree
from tests.support import intake
from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.intake import species  # noqa: F401 (fixture)
from tests.support.query_counts import check, counted
from workers import drain

pytestmark = pytest.mark.django_db
REVIEW, SETTLEMENTS = f"{V1}/species-review", f"{V1}/species-settlements"


def load(folder: Path, texts: list[str], start: int = 1) -> None:
    rows = [intake.row(start + at, species=text) for at, text in enumerate(texts)]
    loading.load(SERVICE, intake.source(folder, rows, f"trees-{start}.csv"), intake.mapping())


@pytest.fixture
def city_file(species: None, tmp_path: Path) -> Path:  # noqa: F811
    load(tmp_path, ["Arbor ignota", "ARBOR IGNOTA", "Arbor altera", "Tilia sp.", "Tilia cordota", "Tilia cordata"])
    return tmp_path


def settled(body: dict[str, Any], role: str = "forester") -> Any:
    return as_role(role).post(SETTLEMENTS, body, headers=key())


def test_the_helpless_come_first_with_their_trees_and_suggestions(city_file: Path) -> None:
    items = as_role("inspector").get(REVIEW).json()["items"]
    told = [(item["text"].casefold(), item["how"], item["matched"], item["trees"]) for item in items]
    assert told == [
        ("arbor ignota", "none", None, 2),
        ("arbor altera", "none", None, 1),
        ("tilia cordota", "corrected", "Tilia cordata", 1),
        ("tilia sp.", "genus", "Tilia", 1),
    ]
    assert items[0]["without_species"] == 2
    assert len(items[0]["examples"]) == 2
    assert items[0]["examples"][0]["street"] == "Mill Lane"
    first = items[2]["suggestions"][0]
    assert (first["botanical_name"], first["found"]) == ("Tilia cordata", "with letters corrected")


def test_a_text_is_settled_leaves_the_queue_and_its_trees_are_judged_anew(city_file: Path) -> None:
    answer = settled({"text": "Arbor ignota", "outcome": "species", "species": "Acer rubrum", "why": "seen in May"})
    assert answer.status_code == 201
    done = answer.json()
    assert (done["changed"], done["kept"], done["settlement"]["species"]["botanical_name"]) == (2, 0, "Acer rubrum")
    assert done["settlement"]["why"] == "seen in May"
    assert Tree.objects.filter(species__botanical_name="Acer rubrum").count() == 2
    keys = [item["key"] for item in as_role("forester").get(REVIEW).json()["items"]]
    assert "arbor ignota" not in keys
    (one,) = as_role("auditor").get(SETTLEMENTS).json()["items"]
    assert one["settled_by"]
    drain.drain()
    marked = set(Tree.objects.filter(species__botanical_name="Acer rubrum").values_list("pk", flat=True))
    assert set(Mark.objects.filter(scope="tree").values_list("subject", flat=True)) == marked


def test_settling_anew_by_the_key_takes_it_back(city_file: Path) -> None:
    settled({"text": "Arbor ignota", "outcome": "no_tree"})
    assert Tree.objects.filter(state="removed").count() == 2
    done = settled({"text": "arbor ignota", "outcome": "text"}).json()
    assert (done["put_back"], Tree.objects.filter(state="removed").count()) == (2, 0)
    assert SpeciesSettlement.objects.count() == 1
    assert Event.objects.filter(kind="species.settled").count() == 2


def test_the_queue_is_narrowed_and_paged_without_gap_or_repeat(city_file: Path) -> None:
    client = as_role("forester")
    every = [item["key"] for item in client.get(REVIEW).json()["items"]]
    paged, url = [], f"{REVIEW}?limit=1"
    while url:
        page = client.get(url).json()
        paged += [item["key"] for item in page["items"]]
        url = page["next"]
    assert paged == every
    assert [item["key"] for item in client.get(REVIEW, {"how": "genus"}).json()["items"]] == ["tilia sp"]
    assert [item["key"] for item in client.get(REVIEW, {"q": "ALTERA"}).json()["items"]] == ["arbor altera"]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"text": "Arbor", "outcome": "species"}, "#/species"),
        ({"text": "Arbor", "outcome": "text", "species": "Acer rubrum"}, "#/species"),
        ({"text": "Arbor", "outcome": "species", "species": "Arbor ignota"}, "#/species"),
        ({"text": "", "outcome": "text"}, "#/text"),
        ({"text": "Arbor", "outcome": "perhaps"}, "#/outcome"),
        ({"text": "Arbor", "outcome": "text", "colour": "red"}, "#/colour"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_changes(city_file: Path, body: dict[str, Any], pointer: str) -> None:
    answer = settled(body)
    assert pointers(problem(answer, 400, "invalid")) == {pointer}
    assert SpeciesSettlement.objects.count() == 0


def test_an_auditor_reads_and_does_not_settle(city_file: Path) -> None:
    assert as_role("auditor").get(REVIEW).status_code == 200
    assert settled({"text": "Arbor", "outcome": "text"}, "auditor").status_code == 403


def test_the_queries_do_not_grow_with_the_texts(city_file: Path) -> None:
    client = as_role("forester")
    client.get(REVIEW)
    one = counted(lambda: client.get(REVIEW))
    load(city_file, [f"Arbor {word} ignota" for word in ("ab", "cd", "ef", "gh", "ij", "kl", "mn")], start=40)
    assert counted(lambda: client.get(REVIEW)) == one
    check("GET species-review forester", one)
    check("GET species-settlements forester", counted(lambda: client.get(SETTLEMENTS)))
