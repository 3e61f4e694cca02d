"""The city as a plan, invented once for all tests of this folder."""

from datetime import date

import pytest

from deploy.demo import city
from deploy.demo.city import City

REFERENCE = date(2026, 5, 20)


@pytest.fixture(scope="session")
def harrowmere() -> City:
    """Harrowmere as it stands on a day in May."""
    return city.invent(REFERENCE)
