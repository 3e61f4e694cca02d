"""The trees of a file as typed columns: numbers in SI, days as ordinals, texts as codes into their distinct values."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

NUMBERS = ("lon", "lat", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "height_low_m", "height_high_m", "crown_m",
           "crown_base_m", "strip_width_m")  # fmt: skip
DAYS = ("planted_from", "planted_to", "measured_on")
TEXTS = ("key", "species", "street", "number", "place", "note", "state", "space", "code_says")


@dataclass
class Texts:
    """One text a row: `values[codes[row]]`. The empty text is always code 0."""

    codes: Ints
    values: list[str]

    def at(self, row: int) -> str:
        """The text of a row."""
        return self.values[int(self.codes[row])]

    def filled(self) -> Bools:
        """The rows that have a text."""
        return np.asarray(self.codes != 0)


class TextColumn:
    """Gathers the texts of one column block by block."""

    def __init__(self) -> None:
        self._code: dict[str, int] = {"": 0}
        self._parts: list[NDArray[np.int32]] = []

    @property
    def filled(self) -> bool:
        """Whether any rows were added."""
        return bool(self._parts)

    def add(self, texts: Iterable[str], count: int) -> None:
        """Append the texts of the next rows."""
        code = self._code
        codes = (code.setdefault(text, len(code)) for text in texts)
        self._parts.append(np.fromiter(codes, np.int32, count))

    def done(self) -> Texts:
        """All of them."""
        codes = np.concatenate(self._parts) if self._parts else np.zeros(0, np.int32)
        return Texts(codes.astype(np.int64), list(self._code))


@dataclass
class Table:
    """Row i of every column is the same row of the file. NaN and -1 (a day) mean unknown.

    `marks` holds, by name, rows of which conversion has something to say: `dbh_unread`, `dbh_zero`, `ragged` ...
    """

    lines: Ints
    numbers: dict[str, Floats]
    days: dict[str, Ints]
    texts: dict[str, Texts]
    marks: dict[str, Bools] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.lines)

    def mark(self, name: str) -> Bools:
        """The rows marked so; none where nothing was marked."""
        return self.marks.get(name, np.zeros(len(self), bool))
