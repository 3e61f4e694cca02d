"""Writes the trees of a file by COPY: site, tree and measurement, block by block, in the order of the file."""

import math
from collections.abc import Iterable, Sequence
from datetime import date

import numpy as np
from django.db import connection

from inventory.intake.examine import Examination
from inventory.intake.facts import Facts
from inventory.intake.progress import Progress
from inventory.intake.table import Floats, Ints
from inventory.models import IntakeLoad, Zone
from inventory.statements import statement

BLOCK_ROWS = 50_000
NULL = "\\N"
# What COPY reads as its own signs in text.
_ESCAPES = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})
_POINT_HEAD = bytes.fromhex("0101000020E6100000")
SITE = ("external_key", "location", "zone_id", "street", "house_number", "place", "growing_space",
        "strip_width_m", "state", "intake_load_id")  # fmt: skip
TREE = ("external_key", "site_id", "species_id", "species_text", "location", "zone_id", "planted_from", "planted_to",
        "state", "removed_on", "removal_reason", "note", "dbh_cm", "height_m", "crown_m",
        "intake_load_id")  # fmt: skip
MEASUREMENT = ("tree_id", "measured_on", "method", "dbh_cm", "height_m", "crown_m", "intake_load_id")
# Only of a file that has them.
TREE_CLASS = ("dbh_low_cm", "dbh_high_cm")
MORE = (*TREE_CLASS, "height_low_m", "height_high_m", "crown_base_m")


def write(load: IntakeLoad, examination: Examination, measured_on: date, progress: Progress) -> None:
    """Write every row that is taken. One COPY a table and block, so that history keeps each block in one step."""
    add(load, examination.facts, np.flatnonzero(examination.taken), measured_on, progress)


def add(load: IntakeLoad, facts: Facts, rows: Ints, measured_on: date, progress: Progress) -> None:
    """Write these rows, each with a site of its own."""
    writer = _Writer(load, facts, measured_on)
    check_at_once()
    for start in range(0, len(rows), BLOCK_ROWS):
        writer.write(rows[start : start + BLOCK_ROWS])
        progress(min(start + BLOCK_ROWS, len(rows)), len(rows), "loading")


def plant(load: IntakeLoad, facts: Facts, rows: Ints, sites: Ints, measured_on: date) -> None:
    """Write these rows as trees on sites that are there (their ids)."""
    writer = _Writer(load, facts, measured_on)
    for start in range(0, len(rows), BLOCK_ROWS):
        writer.plant(rows[start : start + BLOCK_ROWS], sites[start : start + BLOCK_ROWS])


def check_at_once() -> None:
    """Have foreign keys checked with each statement: a million checks deferred to the commit would fill memory."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def plan_anew() -> None:
    """Have the history's triggers planned for many rows: a plan kept from a change of one row pairs each with each."""
    with connection.cursor() as cursor:
        cursor.execute("DISCARD PLANS")


class _Writer:
    """Turns columns of the table into the lines of COPY."""

    def __init__(self, load: IntakeLoad, facts: Facts, measured_on: date) -> None:
        self._facts, self._table = facts, facts.table
        self._load, self._today = str(load.pk), facts.today.isoformat()
        self._measured_on = measured_on.toordinal()
        self._zoned = Zone.objects.exists()
        self._species = [NULL if t.species_id is None else str(t.species_id) for t in facts.taxon]
        self._escaped = {name: [escape(v) for v in texts.values] for name, texts in facts.table.texts.items()}
        space = facts.table.texts["space"]
        self._space = [value or "unknown" for value in space.values]
        numbers = facts.table.numbers
        self._more = [name for name in MORE if not np.isnan(numbers[name]).all()]
        self._tree_class = [name for name in TREE_CLASS if set(TREE_CLASS) & set(self._more)]
        self._last = {"site": 0, "tree": 0}

    def write(self, rows: Ints) -> None:
        """Write the sites of these rows, then the trees on them, then the measurements of the trees."""
        points, zones = self._points(rows), self._zones(rows)
        vacant = self._facts.is_state("vacant")[rows]
        keys = [value or NULL for value in self._texts("key", rows)]
        standing = self._facts.standing[rows]
        copy("site", SITE, zip(
            [key if empty else NULL for key, empty in zip(keys, vacant, strict=True)], points, zones,
            self._texts("street", rows), self._texts("number", rows), self._texts("place", rows),
            _pick(self._space, self._table.texts["space"].codes[rows]),
            floats(self._table.numbers["strip_width_m"][rows]),
            ["planted" if up else "vacant" for up in standing], [self._load] * len(rows), strict=True,
        ))  # fmt: skip
        sites = self._ids("site", len(rows))
        there = np.flatnonzero(~vacant)
        self._trees(rows[there], sites[there], _pick(points, there), _pick(zones, there), _pick(keys, there))

    def plant(self, rows: Ints, sites: Ints) -> None:
        """Write the trees of these rows on sites that are there."""
        keys = [value or NULL for value in self._texts("key", rows)]
        self._trees(rows, sites, self._points(rows), self._zones(rows), keys)

    def _trees(self, rows: Ints, sites: Ints, points: list[str], zones: list[str], keys: list[str]) -> None:
        if not len(rows):
            return
        stump = self._facts.is_state("stump")[rows]
        sizes = [self._size(name, rows) for name in ("dbh_cm", "height_m", "crown_m")]
        species = self._table.texts["species"].codes[rows]
        more = [self._size(name, rows) for name in self._tree_class]
        copy("tree", (*TREE, *self._tree_class), zip(
            keys, map(str, sites.tolist()), _pick(self._species, species), _pick(self._escaped["species"], species),
            points, zones, days(self._table.days["planted_from"][rows]), days(self._table.days["planted_to"][rows]),
            _pick(self._facts.state.values, self._facts.state.codes[rows]),
            [self._today if cut else NULL for cut in stump],
            ["a stump in the city's file; felled on or before this day" if cut else "" for cut in stump],
            self._texts("note", rows), *map(floats, sizes), [self._load] * len(rows), *map(floats, more), strict=True,
        ))  # fmt: skip
        self._measurements(rows, self._ids("tree", len(rows)), sizes)

    def _measurements(self, rows: Ints, trees: Ints, sizes: list[Floats]) -> None:
        more = [self._size(name, rows) for name in self._more]
        # A crown base alone, or the upper end of a class, is no measurement.
        telling = [size for name, size in zip(self._more, more, strict=True) if "_low_" in name]
        some = np.flatnonzero(~np.isnan(np.stack([*sizes, *telling])).all(axis=0))
        if not len(some):
            return
        measured = self._table.days["measured_on"][rows[some]]
        measured = np.where(measured < 0, self._measured_on, measured)
        copy("measurement", (*MEASUREMENT, *self._more), zip(
            map(str, trees[some].tolist()), days(measured), ["city_file"] * len(some),
            *(floats(size[some]) for size in sizes), [self._load] * len(some),
            *(floats(size[some]) for size in more), strict=True,
        ))  # fmt: skip

    def _size(self, name: str, rows: Ints) -> Floats:
        """A size of the rows; a stump's is not the size of a tree."""
        return np.where(self._facts.standing[rows], self._table.numbers[name][rows], math.nan)

    def _texts(self, name: str, rows: Ints) -> list[str]:
        return _pick(self._escaped[name], self._table.texts[name].codes[rows])

    def _points(self, rows: Ints) -> list[str]:
        """The places as EWKB in hexadecimal."""
        raw = np.empty((len(rows), 25), np.uint8)
        raw[:, :9] = np.frombuffer(_POINT_HEAD, np.uint8)
        pairs = np.stack([self._table.numbers["lon"][rows], self._table.numbers["lat"][rows]], axis=1)
        raw[:, 9:] = np.ascontiguousarray(pairs, "<f8").view(np.uint8)
        text = raw.tobytes().hex()
        return [text[at : at + 50] for at in range(0, len(text), 50)]

    def _zones(self, rows: Ints) -> list[str]:
        if not self._zoned:
            return [NULL] * len(rows)
        return zones(self._table.numbers["lon"][rows], self._table.numbers["lat"][rows])

    def _ids(self, table: str, count: int) -> Ints:
        """The ids of the rows that were copied last. COPY gives them in the order of its rows."""
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT id FROM {table} WHERE id > %s AND intake_load_id = %s ORDER BY id LIMIT %s",
                [self._last[table], int(self._load), count],
            )
            ids = np.fromiter((row[0] for row in cursor.fetchall()), np.int64)
        if len(ids) != count:
            raise RuntimeError(f"{count} rows were copied to {table} and {len(ids)} are there")
        self._last[table] = int(ids[-1])
        return ids


def zones(lon: Floats, lat: Floats) -> list[str]:
    """The zone in which each place lies, as COPY has it."""
    if not len(lon):
        return []
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "zones_of_points"), {"lon": lon.tolist(), "lat": lat.tolist()})
        found = cursor.fetchone()[0]
    return [NULL if zone is None else str(zone) for zone in found]


def copy(table: str, columns: Sequence[str], rows: Iterable[tuple[str, ...]]) -> None:
    """COPY lines of texts that are in its form already."""
    lines = "\n".join(map("\t".join, rows))
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copy:
        copy.write(lines + "\n")


def _pick(values: Sequence[str], codes: Ints) -> list[str]:
    return [values[code] for code in codes.tolist()]


def floats(values: Floats) -> list[str]:
    """Numbers as COPY has them."""
    # A number that is not itself is NaN.
    return [repr(value) if value == value else NULL for value in values.tolist()]


def days(ordinals: Ints) -> list[str]:
    """Days as COPY has them; -1 is unknown."""
    known = np.where(ordinals < 0, 719_163, ordinals) - 719_163
    texts = np.datetime_as_string(known.astype("datetime64[D]")).tolist()
    return [text if day >= 0 else NULL for text, day in zip(texts, ordinals.tolist(), strict=True)]


def escape(text: str) -> str:
    """A text as COPY has it."""
    return text.translate(_ESCAPES)
