"""Fixtures for the whole suite. The test database is made from the template by the owner role."""

import pytest
from django.core.cache import cache
from django.test import Client

from inventory.models import Municipality
from tests.support import build


@pytest.fixture(autouse=True)
def _fresh_cache() -> None:
    """No test reads what another one cached."""
    cache.clear()


@pytest.fixture
def city(db: None) -> Municipality:
    """The municipality of the test: Harrowmere."""
    return build.municipality()


@pytest.fixture
def client() -> Client:
    """A client that does not follow redirects."""
    return Client()
