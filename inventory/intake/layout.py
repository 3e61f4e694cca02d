"""How a file is laid out, and the blocks of rows that every reader hands on."""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.problems import Invalid

BLOCK_ROWS = 50_000
MAX_COLUMNS = 500
MAX_CELL = 100_000


@dataclass(frozen=True)
class Layout:
    """What must be known to take a file apart into rows and cells."""

    format: str = "csv"
    encoding: str = "utf-8"
    delimiter: str = ","
    header: bool = True
    # Of a file that holds several tables, the one to read.
    layer: str = ""


@dataclass(frozen=True)
class Block:
    """Some rows: the line of each in the file, and the cells column by column.

    `ragged` marks the rows that had more or fewer cells than the heading (missing ones are empty here).
    """

    lines: NDArray[np.int64]
    cells: list[list[str]]
    ragged: NDArray[np.bool_]


# A zero byte, and halves of characters: what no text of a database may hold.
_UNKEPT = re.compile("[\0\ud800-\udfff]")


def cell(text: str) -> str:
    """The text of a cell or heading as it is. Raises Invalid where it is too long, or cannot be kept as text."""
    if len(text) > MAX_CELL:
        raise Invalid.field("#/file", f"a value of {len(text):,} characters; at most {MAX_CELL:,} are read")
    if _UNKEPT.search(text):
        raise Invalid.field("#/file", "a value holds a zero byte or half a character, which is no text")
    return text
