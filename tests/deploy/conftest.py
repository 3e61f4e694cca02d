"""Fixtures of the tests of deploy/."""

import subprocess
from collections.abc import Iterator

import pytest


@pytest.fixture
def bystander() -> Iterator[subprocess.Popen[bytes]]:
    """Somebody else's process."""
    with subprocess.Popen(["sleep", "300"]) as process:
        try:
            yield process
        finally:
            process.kill()
