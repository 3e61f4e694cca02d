"""Turns cells into typed columns: sizes to SI, girth to diameter, days, points, zero to unknown."""

import math
from collections.abc import Iterable
from itertools import repeat

import numpy as np

from inventory.intake import cells, words
from inventory.intake.layout import Block
from inventory.intake.mapping import Column, Mapping
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source
from inventory.intake.roles import SIZES
from inventory.intake.table import DAYS, NUMBERS, TEXTS, Bools, Floats, Table, TextColumn

MEASURES = (("dbh", "dbh_cm"), ("girth", "dbh_cm"), ("height", "height_m"), ("crown", "crown_m"))


def convert(source: Source, mapping: Mapping, progress: Progress = silent) -> Table:
    """Read the whole file under its mapping. Raises Invalid where a mapped column is missing or the file breaks."""
    mapping.require(source.columns)
    gatherer = _Gatherer(source, mapping)
    rows = 0
    for block in source.blocks():
        gatherer.add(block)
        rows += len(block.lines)
        progress(rows, None, "reading")
    return gatherer.table()


class _Gatherer:
    """Takes blocks of cells and keeps typed columns."""

    def __init__(self, source: Source, mapping: Mapping) -> None:
        self._place = {heading: place for place, heading in enumerate(source.columns)}
        self._mapping = mapping
        self._by_role = {column.role: column for column in mapping.columns}
        self._arrays: dict[str, list[np.ndarray]] = {}
        self._marks: dict[str, list[Bools]] = {}
        self._texts = {name: TextColumn() for name in TEXTS}
        decimal = mapping.decimal
        self._number = cells.Memo(lambda cell: cells.number(cell, decimal))
        self._space = cells.Memo(words.space_of)
        self._state = cells.Memo(words.state_of)
        self._days: dict[str, cells.Memo[tuple[int, int]]] = {}

    def add(self, block: Block) -> None:
        """Convert one block."""
        self._block, self._count = block, len(block.lines)
        self._keep("lines", block.lines)
        self._note("ragged", block.ragged)
        self._place_of_trees()
        for role, name in MEASURES:
            if role in self._by_role:
                self._size(role, name)
        if column := self._by_role.get("strip_width"):
            side = cells.Memo(cells.smaller_side)
            width = np.fromiter(map(side.__getitem__, self._cells(column)), float, self._count)
            self._keep("strip_width_m", width * SIZES["strip_width"][column.unit])
        self._dates("planted", "planted_from", "planted_to")
        self._dates("measured", None, "measured_on")
        self._names()
        self._address()
        self._plain("key")
        self._places()

    def _cells(self, column: Column) -> list[str]:
        return self._block.cells[self._place[column.heading]]

    def _keep(self, name: str, values: np.ndarray) -> None:
        self._arrays.setdefault(name, []).append(values)

    def _note(self, name: str, rows: Bools) -> None:
        self._marks.setdefault(name, []).append(rows)

    def _numbers(self, column: Column) -> Floats:
        """The numbers of a column; infinity where a cell is no number."""
        found = self._cells(column)
        return np.fromiter(map(self._number.__getitem__, found), float, self._count)

    def _place_of_trees(self) -> None:
        if column := self._by_role.get("point"):
            pairs = [cells.point(cell, column.format) for cell in self._cells(column)]
            lon, lat = np.array(pairs, float).reshape(-1, 2).T
        else:
            lon = self._numbers(self._by_role["longitude"])
            lat = self._numbers(self._by_role["latitude"])
        unread = np.isinf(lon) | np.isinf(lat)
        self._note("place_unread", unread)
        self._keep("lon", np.where(unread, math.nan, lon))
        self._keep("lat", np.where(unread, math.nan, lat))

    def _size(self, role: str, name: str) -> None:
        """A size in SI; what is zero, negative or no number is marked and unknown."""
        column = self._by_role[role]
        value = self._numbers(column) * SIZES[role][column.unit]
        self._note(f"{name}_unread", np.isinf(value) | (value < 0))
        self._note(f"{name}_zero", value == 0)
        value = np.where(np.isinf(value) | (value <= 0), math.nan, value)
        self._keep(name, value / math.pi if role == "girth" else value)

    def _dates(self, role: str, first: str | None, last: str) -> None:
        column = self._by_role.get(role)
        if column is None:
            return
        form = column.format
        memo = self._days.setdefault(role, cells.Memo(lambda cell: cells.days(cell, form)))
        pairs = np.array([memo[cell] for cell in self._cells(column)], np.int64).reshape(-1, 2)
        self._note(f"{role}_unread", pairs[:, 0] == cells.UNREAD)
        placeholders = [day.toordinal() for day in cells.PLACEHOLDERS]
        placeholder = np.isin(pairs[:, 0], placeholders) & (pairs[:, 0] == pairs[:, 1])
        self._note(f"{role}_placeholder", placeholder)
        pairs[placeholder | (pairs[:, 0] == cells.UNREAD)] = cells.UNKNOWN
        if first:
            self._keep(first, pairs[:, 0])
        self._keep(last, pairs[:, 1])

    def _names(self) -> None:
        """The text by which the species is matched and kept: of one column or put together from several."""
        parts = [self._by_role[role] for role in ("species", "genus", "epithet") if role in self._by_role]
        rows = [self._cells(column) for column in parts]
        if cultivar := self._by_role.get("cultivar"):
            rows.append([_quoted(cell) for cell in self._cells(cultivar)])
        if common := self._by_role.get("common"):
            rows.append([f":: {cell}" if cell.strip() else "" for cell in self._cells(common)])
        if rows:
            self._texts["species"].add(map(_joined, zip(*rows, strict=True)), self._count)

    def _address(self) -> None:
        if column := self._by_role.get("address"):
            pairs = [cells.address(cell) for cell in self._cells(column)]
            self._texts["number"].add((pair[0] for pair in pairs), self._count)
            self._texts["street"].add((pair[1] for pair in pairs), self._count)
            return
        self._plain("street")
        self._plain("number")

    def _plain(self, role: str) -> None:
        if column := self._by_role.get(role):
            self._texts[role].add((cell.strip() for cell in self._cells(column)), self._count)

    def _places(self) -> None:
        for role in ("place", "note"):
            columns = self._mapping.of(role)
            if columns:
                rows = zip(*(self._cells(column) for column in columns), strict=True)
                labels = [f"{c.heading}: " if role == "note" else "" for c in columns]
                self._texts[role].add((_told(row, labels) for row in rows), self._count)
        if column := next(iter(self._mapping.of("place")), None):
            found = (self._space[cell] for cell in self._cells(column))
            self._texts["space"].add(found, self._count)
        if column := self._by_role.get("state"):
            self._texts["state"].add((self._state[cell] for cell in self._cells(column)), self._count)

    def table(self) -> Table:
        """All blocks as one table; columns that the file does not have are unknown throughout."""
        lines = _joined_arrays(self._arrays.get("lines"), 0, 0)
        count = len(lines)
        for column in self._texts.values():
            if not column.filled:
                column.add(repeat("", count), count)
        return Table(
            lines,
            {name: _joined_arrays(self._arrays.get(name), count, math.nan) for name in NUMBERS},
            {name: _joined_arrays(self._arrays.get(name), count, cells.UNKNOWN) for name in DAYS},
            {name: column.done() for name, column in self._texts.items()},
            {name: np.concatenate(parts) for name, parts in self._marks.items()},
        )


def _joined_arrays(parts: list[np.ndarray] | None, count: int, missing: float) -> np.ndarray:
    if parts:
        return np.concatenate(parts)
    return np.full(count, missing, np.int64 if isinstance(missing, int) else np.float64)


def _quoted(cell: str) -> str:
    name = cell.strip().strip("'\"’‘ ")
    return f"'{name}'" if name else ""


def _joined(parts: Iterable[str]) -> str:
    text = " ".join(part.strip() for part in parts if part.strip())
    # "::" alone parts two names of which neither is there.
    return text if any(map(str.isalnum, text)) else ""


def _told(row: Iterable[str], labels: list[str]) -> str:
    told = (f"{label}{cell.strip()}" for label, cell in zip(labels, row, strict=True) if cell.strip())
    return "; ".join(told)
