"""What the checks look at: the table of trees, the taxon of each row, and where the rows lie to each other."""

import math
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np

from inventory.intake.damage import is_damaged
from inventory.intake.names import Match, is_not_a_tree
from inventory.intake.neighbours import alone_km, grouped, same_point, twins
from inventory.intake.table import Bools, Floats, Ints, Table, Texts
from inventory.intake.taxa import Taxa, Taxon

HOW = ("settled", "exact", "synonym", "corrected", "common", "genus", "none")
# With so large a stem a tree may be planted, and so much it may grow in a year (cm).
PLANTED_CM, GROWTH_CM = 20.0, 5.0
_UNKNOWN_TAXON = Taxon(None, None, None)


@dataclass
class Facts:
    """One file's trees and what is known about them; every column has one value a row."""

    table: Table
    taxa: Taxa
    today: date
    # Rows whose external key stands in the inventory already: with the same values, or with others.
    same: Bools = field(default_factory=lambda: np.zeros(0, bool))
    other: Bools = field(default_factory=lambda: np.zeros(0, bool))

    def __post_init__(self) -> None:
        if not len(self.same):
            self.same = np.zeros(len(self.table), bool)
            self.other = np.zeros(len(self.table), bool)

    @cached_property
    def matches(self) -> list[Match]:
        """The match of each distinct species text."""
        values = self.table.texts["species"].values
        found = self.taxa.names.match_many(values)
        return [found[value] for value in values]

    @cached_property
    def taxon(self) -> list[Taxon]:
        """The taxon of each distinct species text."""
        by_name = self.taxa.by_name
        return [by_name.get(match.botanical_name or "", _UNKNOWN_TAXON) for match in self.matches]

    def how(self, name: str) -> Bools:
        """The rows whose species text was matched in this way."""
        return self._by_text([match.how == name for match in self.matches]).astype(bool)

    @cached_property
    def believable_dbh_cm(self) -> Floats:
        """The largest stem (cm) that a tree planted when the file says may have; NaN where it does not say.

        Planted with PLANTED_CM, then growing GROWTH_CM a year (the project's choice, above any street tree's).
        """
        measured, planted = self.table.days["measured_on"], self.table.days["planted_from"]
        years = (np.where(measured > 0, measured, self.today.toordinal()) - planted) / 365.2425
        return np.where((planted > 0) & (years >= 0), PLANTED_CM + GROWTH_CM * (years + 1), math.nan)

    @cached_property
    def damaged(self) -> Bools:
        """The rows in whose species text a number stands for a word."""
        return self._by_text([is_damaged(text) for text in self.table.texts["species"].values]).astype(bool)

    @cached_property
    def max_dbh_cm(self) -> Floats:
        """The largest stem believable of the row's taxon (cm); NaN where not known."""
        return self._by_text([taxon.max_dbh_cm or math.nan for taxon in self.taxon])

    @cached_property
    def mature_height_m(self) -> Floats:
        """The mature height of the row's taxon (m); NaN where not known."""
        return self._by_text([taxon.mature_height_m or math.nan for taxon in self.taxon])

    def _by_text(self, values: list[float] | list[bool]) -> Floats:
        return np.asarray(np.array(values)[self.table.texts["species"].codes])

    @cached_property
    def state(self) -> Texts:
        """What stands there: alive, dead, stump, vacant, removed; from the state column, else the species text."""
        texts, states = self.table.texts["species"], ("", "stump", "vacant")
        said = [states.index(_no_tree(match)) for match in self.matches]
        from_species = np.array(said)[texts.codes]
        given = self.table.texts["state"]
        values = ["alive", "dead", "stump", "vacant", "removed"]
        codes = np.array([values.index(value) if value else 0 for value in given.values])[given.codes]
        codes[from_species == 1] = values.index("stump")
        codes[from_species == 2] = values.index("vacant")
        return Texts(codes, values)

    def is_state(self, name: str) -> Bools:
        """The rows in that state."""
        return np.asarray(self.state.codes == self.state.values.index(name))

    @property
    def standing(self) -> Bools:
        """The rows that are a tree that stands."""
        return self.is_state("alive") | self.is_state("dead")

    @cached_property
    def placed(self) -> Bools:
        """The rows whose coordinates are degrees on the globe and not 0, 0."""
        lon, lat = self.table.numbers["lon"], self.table.numbers["lat"]
        found = (np.abs(lon) <= 180) & (np.abs(lat) <= 90) & ~((lon == 0) & (lat == 0))
        return np.asarray(found)

    @cached_property
    def alone_km(self) -> Floats:
        """How far off a stray row's nearest neighbour is (km); NaN for every row that is not astray."""
        rows = np.flatnonzero(self.placed)
        found = np.full(len(self.table), math.nan)
        found[rows] = alone_km(self.table.numbers["lon"][rows], self.table.numbers["lat"][rows])
        return found

    @cached_property
    def on_point(self) -> Ints:
        """How many rows lie on exactly the row's point; 0 for rows without a place."""
        rows = np.flatnonzero(self.placed)
        found = np.zeros(len(self.table), np.int64)
        found[rows] = same_point(self.table.numbers["lon"][rows], self.table.numbers["lat"][rows])
        return found

    @cached_property
    def near_twin(self) -> Bools:
        """The rows that have another within a metre, not on the same point, of the same species and sizes."""
        rows = np.flatnonzero(self.placed & self.standing)
        found = np.zeros(len(self.table), bool)
        numbers = self.table.numbers
        sizes = [numbers[name][rows] for name in ("dbh_cm", "height_m", "dbh_low_cm", "height_low_m")]
        # Without any size two young trees of a row planted closely are no evidence.
        sized = ~np.isnan(np.stack(sizes)).all(axis=0)
        rows, sizes = rows[sized], [size[sized] for size in sizes]
        kind = grouped([self.table.texts["species"].codes[rows].astype(float), *sizes])
        found[rows] = twins(numbers["lon"][rows], numbers["lat"][rows], kind)
        return found

    @cached_property
    def first_line_of_row(self) -> Ints:
        """The line of the first row that is the same in all that is taken over; 0 for rows that are not repeated."""
        found = np.zeros(len(self.table), np.int64)
        rows = np.flatnonzero(self.on_point > 1)
        if not len(rows):
            return found
        table = self.table
        columns = [table.numbers[name][rows] for name in table.numbers]
        columns += [days[rows].astype(float) for days in table.days.values()]
        columns += [texts.codes[rows].astype(float) for texts in table.texts.values()]
        _, first, place = np.unique(grouped(columns), return_index=True, return_inverse=True)
        lines = table.lines[rows[first[place]]]
        found[rows] = np.where(lines == table.lines[rows], 0, lines)
        return found

    @cached_property
    def placeholder_year(self) -> Bools:
        """The rows with the bare year 1899 or 1900, where many more rows have it than the years about it."""
        first, last = self.table.days["planted_from"], self.table.days["planted_to"]
        found = np.zeros(len(self.table), bool)
        bare = (last - first) > 300
        for year in (1899, 1900):
            start = date(year, 1, 1).toordinal()
            here = bare & (first == start)
            about = int((bare & (abs(first - start) <= 3660)).sum() - here.sum())
            if here.sum() > max(2, about / 4):
                found |= here
        return found

    @cached_property
    def first_line_of_key(self) -> Ints:
        """The line on which the row's key stands first; 0 for rows without a key."""
        key = self.table.texts["key"]
        first = np.full(len(key.values), -1, np.int64)
        # Written backwards, so that what stays is the first row of each key.
        first[key.codes[::-1]] = np.arange(len(self.table) - 1, -1, -1)
        lines = self.table.lines[first[key.codes]] if len(self.table) else self.table.lines
        return np.where(key.filled(), lines, 0)


def _no_tree(match: Match) -> str:
    """What stands where the text says that no tree does; empty for a tree. What a person settled goes first."""
    if match.how == "settled":
        return "vacant" if match.no_tree else ""
    return is_not_a_tree(match.text) or ""
