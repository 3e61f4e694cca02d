"""Where the open data sets are; tests that need one are skipped, saying why, where it is absent."""

import os
from pathlib import Path

import pytest

_BESIDE = Path(__file__).resolve().parents[3] / "shared" / "open_data"
OPEN_DATA = Path(os.environ.get("OPEN_DATA_DIR", _BESIDE))


def open_data(name: str) -> Path:
    """Path of a file of the open data folder, or skip the test."""
    path = OPEN_DATA / name
    if not path.is_file():
        pytest.skip(f"needs the open data file {name}, which is not under {OPEN_DATA.name} (OPEN_DATA_DIR)")
    return path
