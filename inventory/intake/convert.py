"""Turns cells into typed columns: sizes to SI, girth to diameter, days, points, zero to unknown."""

import math
from collections.abc import Callable, Iterable
from collections.abc import Mapping as Scale
from datetime import date
from itertools import repeat

import numpy as np

from inventory.geo.crs import WGS84
from inventory.geo.transform import taken_back, to_degrees
from inventory.intake import cells, codes, own_words, words
from inventory.intake.layout import Block
from inventory.intake.mapping import Column, Mapping
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source
from inventory.intake.roles import SIZES
from inventory.intake.table import DAYS, NUMBERS, TEXTS, Bools, Floats, Table, TextColumn

# Role, column of the table, and what one of the role is of the column.
MEASURES = (
    ("dbh", "dbh_cm", 1.0), ("girth", "dbh_cm", 1 / math.pi), ("radius", "dbh_cm", 2.0), ("height", "height_m", 1.0),
    ("crown", "crown_m", 1.0), ("crown_radius", "crown_m", 2.0), ("crown_base", "crown_base_m", 1.0),
)  # fmt: skip
# Role, size it is a class of, its unit, the largest end believable of anything, what one of the role is of the size.
CLASSED = (
    ("dbh_class", "dbh", "cm", 1450.0, 1.0), ("girth_class", "dbh", "cm", 1450.0, 1 / math.pi),
    ("height_class", "height", "m", 116.0, 1.0),
)  # fmt: skip
# Remarks kept with the tree; beside the city's words of the last two stand ours.
TOLD = ("note", "age", "condition", "recommendation")


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
        self._codes = TextColumn()
        decimal = mapping.decimal
        self._number = cells.Memo(lambda cell: cells.number(cell, decimal))
        self._space = cells.Memo(words.space_of)
        self._state = {
            c.heading: cells.Memo(own_words.state_reader(c.role, c.words)) for c in mapping.of("state", "condition")
        }
        self._classes: dict[str, cells.Memo[tuple[float, float]]] = {}
        self._told = {
            c.heading: cells.Memo(_beside(own_words.reader(c.role, c.words)))
            for c in mapping.of("condition", "recommendation")
        } | {c.heading: cells.Memo(_beside(words.stage_of)) for c in mapping.of("age")}
        self._days: dict[str, cells.Memo[tuple[int, int]]] = {}

    def add(self, block: Block) -> None:
        """Convert one block."""
        self._block, self._count = block, len(block.lines)
        self._keep("lines", block.lines)
        self._note("ragged", block.ragged)
        self._place_of_trees()
        for role, name, times in MEASURES:
            if role in self._by_role:
                self._size(role, name, times)
        for role, size, unit, most, times in CLASSED:
            if role in self._by_role:
                self._class(role, size, unit, most, times)
        if column := self._by_role.get("strip_width"):
            side = cells.Memo(cells.smaller_side)
            width = np.fromiter(map(side.__getitem__, self._cells(column)), float, self._count)
            self._keep("strip_width_m", width * SIZES["strip_width"][column.unit])
        self._dates("planted", "planted_from", "planted_to")
        self._planting_years()
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
            east, north = ("longitude", "latitude") if "longitude" in self._by_role else ("easting", "northing")
            lon, lat = (self._numbers(self._by_role[role]) for role in (east, north))
        unread: Bools = np.asarray(np.isinf(lon) | np.isinf(lat))
        lon, lat = np.where(unread, math.nan, lon), np.where(unread, math.nan, lat)
        if self._mapping.crs != WGS84:
            known = ~(np.isnan(lon) | np.isnan(lat))
            lon, lat = to_degrees(lon, lat, self._mapping.crs)
            # Numbers that the system has no place for.
            unread = np.asarray(unread | (known & np.isnan(lon)))
        if self._mapping.taken_for:
            lon, lat = taken_back(lon, lat, self._mapping.taken_for)
        self._note("place_unread", unread)
        self._keep("lon", lon)
        self._keep("lat", lat)

    def _size(self, role: str, name: str, times: float) -> None:
        """A size in SI; what is zero, negative or no number is marked and unknown."""
        column, scale = self._by_role[role], SIZES[role]
        value = self._numbers(column)
        if np.isinf(value).any():
            value = self._with_units(column, scale, value)
        value = value * scale[column.unit]
        self._note(f"{name}_unread", np.isinf(value) | (value < 0))
        self._note(f"{name}_zero", value == 0)
        self._keep(name, np.where(np.isinf(value) | (value <= 0), math.nan, value) * times)

    def _with_units(self, column: Column, scale: Scale[str, float], value: Floats) -> Floats:
        """The numbers of a column again, those with a unit behind them among them."""
        found = self._cells(column)
        for row in np.flatnonzero(np.isinf(value)):
            value[row] = cells.sized(found[row], self._mapping.decimal, column.unit, scale)
        return value

    def _class(self, role: str, size: str, unit: str, most: float, times: float) -> None:
        """A class as its two ends in SI; what is no class, or zero alone, is marked and unknown."""
        column = self._by_role[role]
        memo = self._classes.setdefault(role, cells.Memo(_classes(column, self._mapping.decimal)))
        scale = SIZES[role][column.unit] * times
        ends = np.array([memo[cell] for cell in self._cells(column)], float).reshape(-1, 2) * scale
        unread = np.isinf(ends).any(axis=1) | (np.nan_to_num(ends, nan=0.0, posinf=0.0) > most).any(axis=1)
        empty = (ends == 0).all(axis=1)
        self._note(f"{size}_class_unread", np.asarray(unread))
        ends[unread | empty] = math.nan
        if f"{size}_{unit}" in self._arrays:
            self._note(f"{size}_class_other", self._outside(f"{size}_{unit}", scale, ends))
        self._keep(f"{size}_low_{unit}", ends[:, 0])
        self._keep(f"{size}_high_{unit}", ends[:, 1])

    def _outside(self, name: str, scale: float, ends: Floats) -> Bools:
        """The rows whose measured size lies outside their own class by more than half a unit of the class."""
        value, half = self._arrays[name][-1], 0.5 * scale
        return np.asarray((value < ends[:, 0] - half) | (value > ends[:, 1] + half))

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
        for year in cells.NO_YEARS:
            placeholder |= (pairs[:, 0] >= date(year, 1, 1).toordinal()) & (
                pairs[:, 1] <= date(year, 12, 31).toordinal()
            )
        self._note(f"{role}_placeholder", placeholder)
        pairs[placeholder | (pairs[:, 0] == cells.UNREAD)] = cells.UNKNOWN
        if first:
            self._keep(first, pairs[:, 0])
        self._keep(last, pairs[:, 1])

    def _planting_years(self) -> None:
        """Years beside the days of planting: they fill what is missing; rows where both disagree are marked."""
        column = self._by_role.get("planted_year")
        if column is None or "planted" not in self._by_role:
            return
        memo = self._days.setdefault("planted_year", cells.Memo(lambda cell: cells.days(cell, "year")))
        first, last = np.array([memo[cell] for cell in self._cells(column)], np.int64).reshape(-1, 2).T
        begun, ended = self._arrays["planted_from"][-1], self._arrays["planted_to"][-1]
        self._note("planted_disagrees", (begun > 0) & (first > 0) & ((ended < first) | (begun > last)))
        missing = (begun < 0) & (first > 0)
        begun[missing], ended[missing] = first[missing], last[missing]

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
        if code := self._by_role.get("code"):
            told = (cell.strip() for cell in self._cells(code))
            self._codes.add(("" if cell.casefold() in words.NOTHING else cell for cell in told), self._count)

    def _address(self) -> None:
        if column := self._by_role.get("address"):
            pairs = [cells.address(cell) for cell in self._cells(column)]
            self._texts["number"].add((pair[0] for pair in pairs), self._count)
            self._texts["street"].add((pair[1] for pair in pairs), self._count)
            return
        street = self._mapping.of("street", "street_part")
        if len(street) > 1:
            rows = zip(*(self._cells(column) for column in street), strict=True)
            self._texts["street"].add((" ".join(" ".join(row).split()) for row in rows), self._count)
        else:
            self._plain("street")
        self._plain("number")

    def _plain(self, role: str) -> None:
        if column := self._by_role.get(role):
            self._texts[role].add((cell.strip() for cell in self._cells(column)), self._count)

    def _places(self) -> None:
        if columns := self._mapping.of("place"):
            rows = zip(*(self._cells(column) for column in columns), strict=True)
            self._texts["place"].add((_told(row, [""] * len(columns)) for row in rows), self._count)
            found = (self._space[cell] for cell in self._cells(columns[0]))
            self._texts["space"].add(found, self._count)
        if columns := self._mapping.of(*TOLD):
            rows = zip(*(self._remarks(column) for column in columns), strict=True)
            self._texts["note"].add((_told(row, [f"{c.heading}: " for c in columns]) for row in rows), self._count)
        self._states()

    def _remarks(self, column: Column) -> list[str]:
        memo = self._told.get(column.heading)
        cells_ = self._cells(column)
        return cells_ if memo is None else [memo[cell] for cell in cells_]

    def _states(self) -> None:
        """The state that its column names, else what a condition of dead or stump says."""
        given = self._by_role.get("state")
        columns = [*([given] if given else []), *self._mapping.of("condition")]
        if columns:
            memos = [self._state[column.heading] for column in columns]
            rows = zip(*(self._cells(column) for column in columns), strict=True)
            told = (next(filter(None, map(cells.Memo.__getitem__, memos, row)), "") for row in rows)
            self._texts["state"].add(told, self._count)

    def table(self) -> Table:
        """All blocks as one table; columns that the file does not have are unknown throughout."""
        lines = _joined_arrays(self._arrays.get("lines"), 0, 0)
        count = len(lines)
        for column in self._texts.values():
            if not column.filled:
                column.add(repeat("", count), count)
        texts = {name: column.done() for name, column in self._texts.items()}
        marks = {name: np.concatenate(parts) for name, parts in self._marks.items()}
        if self._codes.filled:
            told = codes.resolve(self._codes.done(), texts["species"], dict(self._mapping.codes))
            texts |= {"species": told.names, "code_says": told.says}
            marks["species_from_code"] = told.from_code
        return Table(
            lines,
            {name: _joined_arrays(self._arrays.get(name), count, math.nan) for name in NUMBERS},
            {name: _joined_arrays(self._arrays.get(name), count, cells.UNKNOWN) for name in DAYS},
            texts,
            marks,
        )


def _joined_arrays(parts: list[np.ndarray] | None, count: int, missing: float) -> np.ndarray:
    if parts:
        return np.concatenate(parts)
    return np.full(count, missing, np.int64 if isinstance(missing, int) else np.float64)


def _classes(column: Column, decimal: str) -> Callable[[str], tuple[float, float]]:
    """How a cell of a class is read: its two ends, or the number of a class of ten units."""
    if column.format != "tens":
        return lambda cell: cells.interval(cell, decimal)

    def read(cell: str) -> tuple[float, float]:
        value = cells.number(cell, decimal)
        return (value * 10, value * 10 + 10) if value >= 0 or math.isnan(value) else (math.inf, math.inf)

    return read


def _beside(ours: Callable[[str], str]) -> Callable[[str], str]:
    """The city's words with ours in brackets, where ours are others."""

    def told(cell: str) -> str:
        text, word = cell.strip(), ours(cell)
        if text.casefold() in words.NOTHING:
            return ""
        return f"{text} [{word}]" if word and word != text.casefold() else text

    return told


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
