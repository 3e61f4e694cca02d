"""Fixtures of the page tests."""

from pathlib import Path

import pytest
from pytest_django import Settings

from tests.support.pages import Town, keep_files_in, town


@pytest.fixture(autouse=True)
def _kept_files(settings: Settings, tmp_path: Path) -> None:
    """Uploads are real files: the intake opens them by path."""
    settings.STORAGES = keep_files_in(tmp_path)


@pytest.fixture
def place(db: None) -> Town:
    """The small town."""
    return town()
