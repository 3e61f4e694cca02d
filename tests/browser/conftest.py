"""A headless Chromium for the page tests; skipped, saying why, where there is none."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright
from pytest_django import Settings

from tests.support.pages import Town, keep_files_in, town

CHROMIUM = Path(os.environ.get("CHROMIUM", "/usr/bin/chromium"))
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser of the session."""
    if not CHROMIUM.exists():
        pytest.skip(f"there is no Chromium at {CHROMIUM} (set CHROMIUM)")
    # Playwright keeps an event loop in this thread, which Django would take for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def place(transactional_db: None, settings: Settings, tmp_path: Path) -> Town:
    """The small town, committed, so that the server of the test sees it."""
    settings.STORAGES = keep_files_in(tmp_path)
    return town()
