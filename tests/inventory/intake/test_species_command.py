"""`manage.py species`: lists what waits and settles a text; a wrong word is one problem and changes nothing."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.models import SpeciesSettlement, Tree
from tests.support import build, intake
from tests.support.intake import species  # noqa: F401 (fixture)

pytestmark = pytest.mark.django_db


def said(*arguments: str) -> str:
    out = io.StringIO()
    call_command("species", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture(autouse=True)
def _file(species: None, tmp_path: Path) -> None:  # noqa: F811
    rows = [intake.row(at, species=text) for at, text in enumerate(["Arbor ignota", "Arbor Ignota", "Tilia sp."])]
    loading.load(SERVICE, intake.source(tmp_path, rows), intake.mapping())


def test_it_lists_what_waits() -> None:
    assert "none             1 texts         2 trees" in said()
    told: Any = json.loads(said("--json", "--how", "genus"))
    assert [(one["text"], one["matched"]) for one in told["items"]] == [("Tilia sp.", "Tilia")]


def test_it_settles_by_any_name_of_the_taxon_and_for_a_person() -> None:
    build.user("forester", email="f@harrowmere.test")
    told = json.loads(said("--settle", "arbor ignota", "--is", "Norway maple", "--as", "f@harrowmere.test", "--json"))
    assert (told["species"], told["changed"]) == ("Acer platanoides", 2)
    settlement = SpeciesSettlement.objects.get()
    assert settlement.settled_by is not None
    assert settlement.settled_by.email == "f@harrowmere.test"
    assert "put back 0" in said("--settle", "arbor ignota", "--keep-text")
    assert Tree.objects.filter(species=None).count() == 2


def test_it_says_what_is_wrong() -> None:
    build.user("auditor", email="a@harrowmere.test")
    for arguments, words in (
        (["--settle", "Arbor", "--is", "Arbor ignota"], "is no name of the catalogue"),
        (["--settle", "Arbor"], "goes with the outcome"),
        (["--settle", "Arbor", "--no-tree", "--as", "a@harrowmere.test"], "no role"),
        (["--settle", "Arbor", "--no-tree", "--as", "b@harrowmere.test"], "nobody has the address"),
    ):
        with pytest.raises(CommandError, match=words):
            said(*arguments)
    assert not SpeciesSettlement.objects.exists()
