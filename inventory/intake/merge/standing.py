"""What the inventory holds, as columns beside those of a file: its trees in every state, and its vacant sites."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import repeat
from typing import Any

import numpy as np
from django.db import connection, transaction

from inventory.intake.progress import Progress
from inventory.intake.table import Bools, Floats, Ints, TextColumn, Texts
from inventory.statements import statement

ROWS_AT_ONCE = 20_000
_WHOLE = ("id", "species_id", "planted_from", "planted_to", "version", "load", "site_id", "site_version")
_TEXTS = ("key", "species", "state", "note", "street", "number", "place", "space")
_NUMBERS = ("lon", "lat", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m", "strip_width_m")
# In the order of the statements.
TREE = ("id", "key", "lon", "lat", "species_id", "species", "state", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m",
        "crown_m", "planted_from", "planted_to", "note", "version", "load", "site_id", "site_version", "street",
        "number", "place", "space", "strip_width_m")  # fmt: skip
VACANT = ("id", "key", "lon", "lat", "version", "load", "street", "number", "place", "space", "strip_width_m")


@dataclass(frozen=True)
class Held:
    """Rows of the inventory as columns: whole numbers (-1: none), numbers (NaN: unknown) and texts."""

    whole: dict[str, Ints]
    numbers: dict[str, Floats]
    texts: dict[str, Texts]

    def __len__(self) -> int:
        return len(self.whole["id"])

    def is_state(self, *names: str) -> Bools:
        """The trees in one of these states."""
        states = self.texts["state"]
        wanted = np.array([value in names for value in states.values])
        return np.asarray(wanted[states.codes])

    @property
    def standing(self) -> Bools:
        """The trees that stand."""
        return self.is_state("alive", "dead")


def trees(progress: Progress) -> Held:
    """Every tree, by key of the table."""
    return _read("merge_standing", TREE, progress)


def vacant(progress: Progress) -> Held:
    """Every vacant site, by key of the table."""
    return _read("merge_vacant", VACANT, progress)


def _read(name: str, columns: Sequence[str], progress: Progress) -> Held:
    whole: dict[str, list[Ints]] = {column: [] for column in columns if column in _WHOLE}
    numbers: dict[str, list[Floats]] = {column: [] for column in columns if column in _NUMBERS}
    texts = {column: TextColumn() for column in columns if column in _TEXTS}
    done = 0
    for block in _blocks(statement("inventory", name)):
        for column, values in zip(columns, zip(*block, strict=True), strict=True):
            if column in whole:
                whole[column].append(_whole(values))
            elif column in numbers:
                numbers[column].append(np.array(values, float))
            else:
                texts[column].add((value or "" for value in values), len(values))
        done += len(block)
        progress(done, None, "reading the inventory")
    for one in texts.values():
        if not one.filled:
            one.add(repeat("", 0), 0)
    return Held(
        {column: _joined(parts, np.int64) for column, parts in whole.items()},
        {column: _joined(parts, np.float64) for column, parts in numbers.items()},
        {column: one.done() for column, one in texts.items()},
    )


def _blocks(sql: str) -> Iterator[list[tuple[Any, ...]]]:
    """The rows through a cursor of the server, so that they are never all here as objects."""
    with transaction.atomic(), connection.chunked_cursor() as cursor:
        cursor.execute(sql)
        while block := cursor.fetchmany(ROWS_AT_ONCE):
            yield block


def _whole(values: Iterable[int | None]) -> Ints:
    return np.array([-1 if value is None else value for value in values], np.int64)


def _joined(parts: list[Any], kind: type) -> Any:
    return np.concatenate(parts) if parts else np.zeros(0, kind)
