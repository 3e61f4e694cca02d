"""A table of codes is uploaded and read into what a mapping takes."""

from pathlib import Path

import pytest
from pytest_django import Settings

from tests.support.http import V1, as_role, key, pointers, problem
from tests.support.intake import species as species
from tests.support.pages import keep_files_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]


@pytest.fixture(autouse=True)
def _kept_files(settings: Settings, tmp_path: Path) -> None:
    settings.STORAGES = keep_files_in(tmp_path)


def test_an_uploaded_table_is_read_whichever_way_its_columns_stand() -> None:
    client = as_role("forester")
    content = "what;name;common\nTICO;Tilia cordata;Littleleaf linden\nQURO;Quercus robur;English oak\n"
    sent = client.generic("POST", f"{V1}/intake/files", content, "text/csv")
    answer = client.post(f"{V1}/intake/codes", {"sha256": sent.json()["sha256"], "name": "codes.csv"}, headers=key())
    assert answer.json() == {
        "codes": {"TICO": "Tilia cordata :: Littleleaf linden", "QURO": "Quercus robur :: English oak"}
    }


def test_a_table_of_something_else_is_refused() -> None:
    client = as_role("forester")
    sent = client.generic("POST", f"{V1}/intake/files", "a,b\n1,stone\n2,water\n", "text/csv")
    answer = client.post(f"{V1}/intake/codes", {"sha256": sent.json()["sha256"]}, headers=key())
    assert "no column of codes" in problem(answer, 400, "invalid")["detail"]


def test_a_file_that_nobody_sent_is_named_by_its_field() -> None:
    answer = as_role("forester").post(f"{V1}/intake/codes", {"sha256": "0" * 64}, headers=key())
    assert pointers(problem(answer, 400, "invalid")) == {"#/sha256"}
