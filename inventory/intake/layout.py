"""How a file is laid out, and the blocks of rows that every reader hands on."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
