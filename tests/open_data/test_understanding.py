"""Every column of every real inventory, with no mapping edited by hand: what it is taken for, and what it is."""

import re

import pytest

from tests.open_data.truth import MISSED, TRUTH
from tests.support.inventories import found

_COLUMN = re.compile(r"\s*(.+?) (\w+)(?: (in|cm|m|ft|ymd|mdy|dmy|year|lat_lon|lon_lat))?\s*", re.DOTALL)


def truth(name: str) -> dict[str, tuple[str, str]]:
    """Heading -> role, unit or form."""
    columns = (_COLUMN.fullmatch(column) for column in TRUTH[name].split(";"))
    return {" ".join(c[1].split()): (c[2], c[3] or "") for c in columns if c}


@pytest.mark.parametrize("name", sorted(TRUTH))
def test_columns_are_what_they_are_taken_for(name: str) -> None:
    expected = truth(name)
    assert len(expected) == TRUTH[name].count(";") + 1
    taken = {c.heading: (c.role, "" if c.role == "planted_year" else c.unit or c.format) for c in found(name).columns}
    assert set(expected) <= set(taken)
    wrong = {heading for heading in taken if taken[heading] != expected.get(heading, ("ignored", ""))}
    assert wrong == MISSED.get(name, set())


@pytest.mark.parametrize("name", sorted(TRUTH))
def test_every_column_says_why(name: str) -> None:
    assert all(column.evidence for column in found(name).columns)
