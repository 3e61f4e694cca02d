"""What the values of one column look like: the evidence from which its role is judged."""

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from inventory.intake import cells, words
from inventory.intake.names import Catalogue, is_not_a_tree
from inventory.intake.table import Floats

# Names are matched on the commonest texts only: they stand for most rows, and a note column has as many as rows.
TEXTS_MATCHED = 2_000
# A column of which none of so many values is a day holds no days.
TRIED = 100


@dataclass(frozen=True)
class Profile:
    """One column: its heading and its filled cells (a sample, spread over the file)."""

    heading: str
    rows: int
    cells: list[str]
    names: Catalogue
    # How many different rows the sample has: a row that stands twice says nothing against a key.
    distinct_rows: int = 0

    @property
    def key_unique(self) -> float:
        """The share of the different rows that have a value of their own (0 to 1)."""
        return min(1.0, max(self.unique, len(self.counts) / self.distinct_rows if self.distinct_rows else 0.0))

    @cached_property
    def counts(self) -> Counter[str]:
        """Each distinct text with its number of rows."""
        return Counter(self.cells)

    @property
    def filled(self) -> float:
        """The share of rows that have a value."""
        return len(self.cells) / self.rows if self.rows else 0.0

    @property
    def unique(self) -> float:
        """The share of values that stand on one row only."""
        return sum(1 for count in self.counts.values() if count == 1) / len(self.cells) if self.cells else 0.0

    @cached_property
    def decimal(self) -> str:
        """The decimal sign: a comma where values only become numbers with it."""
        with_point, with_comma = (self._readable(sign) for sign in ".,")
        return "," if with_comma > with_point else "."

    def _readable(self, sign: str) -> int:
        return sum(n for cell, n in self.counts.items() if np.isfinite(cells.number(cell, sign)))

    @cached_property
    def numbers(self) -> Floats:
        """The values that are numbers."""
        found = np.array([cells.number(cell, self.decimal) for cell in self.cells], float)
        return np.asarray(found[np.isfinite(found)])

    @property
    def numeric(self) -> float:
        """The share of values that are numbers."""
        return len(self.numbers) / len(self.cells) if self.cells else 0.0

    @cached_property
    def sizes(self) -> "Profile":
        """The same column with the units taken from behind its numbers."""
        if not any(self.units.values()):
            return self
        units = dict.fromkeys(self.units, 1.0)
        cut = {cell: cells.sized(cell, self.decimal, cells.unit_of(cell), units) for cell in self.counts}
        plain = [cell if math.isinf(cut[cell]) else repr(cut[cell]) for cell in self.cells]
        return Profile(self.heading, self.rows, plain, self.names)

    @cached_property
    def units(self) -> Counter[str]:
        """How many values have which unit behind their number."""
        found: Counter[str] = Counter()
        for cell, n in self.counts.most_common(TEXTS_MATCHED):
            if unit := cells.unit_of(cell):
                found[unit] += n
        return found

    @cached_property
    def fractions(self) -> float:
        """The share of numbers with at least three decimals."""
        scaled = self.numbers * 100
        return float(np.mean(np.abs(scaled - np.round(scaled)) > 1e-6)) if len(scaled) else 0.0

    def share(self, test: Callable[[str], object]) -> float:
        """The share of values that pass a test of one text."""
        passed = sum(n for cell, n in self.counts.items() if test(cell))
        return passed / len(self.cells) if self.cells else 0.0

    def days(self, form: str) -> Floats:
        """The values that are days in a form, as ordinals (bare years by their first day)."""
        if not any(cells.days(cell, form)[0] > 0 for cell, _ in self.counts.most_common(TRIED)):
            return np.zeros(0)
        read = [(cells.days(cell, form)[0], n) for cell, n in self.counts.items()]
        return np.array([day for day, n in read if day > 0 for _ in range(n)], float)

    @cached_property
    def matched(self) -> dict[str, float]:
        """The share of rows by the way their text names a taxon: exact, synonym, common, genus, none."""
        # A place without a tree names no species, whatever the column is.
        commonest = [pair for pair in self.counts.most_common(TEXTS_MATCHED) if not is_not_a_tree(pair[0])]
        total = sum(n for _, n in commonest)
        found: Counter[str] = Counter()
        for text, n in commonest:
            found[self.names.match(text).how] += n
        return {how: n / total for how, n in found.items()}

    def named(self, *hows: str) -> float:
        """The share of rows matched in one of these ways."""
        return sum(self.matched.get(how, 0.0) for how in hows)

    @cached_property
    def state_words(self) -> float:
        """The share of rows that name a state."""
        return self.share(words.state_of)

    @cached_property
    def space_words(self) -> float:
        """The share of rows that name a growing space."""
        return self.share(lambda cell: words.space_of(cell) != "unknown")

    @property
    def examples(self) -> list[str]:
        """The commonest values."""
        return [text for text, _ in self.counts.most_common(3)]
