"""What the values of a column look like at a glance: a histogram of its numbers or years, or its commonest texts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from inventory.intake.profile import Profile
from inventory.intake.roles import DATES
from inventory.intake.table import Floats

# A picture of so many bars is still read; a column of so few values is told value by value.
MOST_BARS = 24
FEW_VALUES = 12
NUMERIC = 0.9
# Of words that a person may map to ours all are told, as long as there are no more.
MOST_WORDS, COMMONEST = 40, 8
LONGEST = 120
# Beyond these shares of the values lie slips of the pen: they are counted, not drawn.
TAILS = (0.5, 99.5)
_EIGHTHS = "▁▂▃▄▅▆▇█"


@dataclass(frozen=True)
class Histogram:
    """`counts[i]` values lie from `low + i * step` up to the next step; `below` and `above` are not drawn."""

    low: float
    step: float
    counts: list[int]
    below: int
    above: int
    median: float
    smallest: float
    largest: float

    @property
    def high(self) -> float:
        """The upper end of the last bar."""
        return self.low + self.step * len(self.counts)


@dataclass(frozen=True)
class Glance:
    """One column of a sample: `kind` is numbers, years, texts or empty; of texts each with its number of rows."""

    kind: str
    values: int
    distinct: int
    histogram: Histogram | None = None
    texts: tuple[tuple[str, int], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """As JSON."""
        told: dict[str, Any] = {"kind": self.kind, "values": self.values, "distinct": self.distinct}
        if self.histogram:
            told["histogram"] = {**vars(self.histogram), "high": self.histogram.high}
        if self.texts:
            told["texts"] = [{"text": text, "rows": rows} for text, rows in self.texts]
        return told


def glance(profile: Profile, form: str = "") -> Glance:
    """Look at one column; `form` is the order of its dates, where it holds dates."""
    count, distinct = len(profile.cells), len(profile.counts)
    if not count:
        return Glance("empty", 0, 0)
    years = _years(profile, form)
    if years is not None and len(years):
        return Glance("years", count, distinct, histogram(years))
    sizes = profile.sizes
    if sizes.numeric >= NUMERIC and distinct > FEW_VALUES:
        return Glance("numbers", count, distinct, histogram(sizes.numbers))
    most = MOST_WORDS if distinct <= MOST_WORDS else COMMONEST
    common = profile.counts.most_common(most)
    return Glance("texts", count, distinct, None, tuple((text[:LONGEST], rows) for text, rows in common))


def _years(profile: Profile, form: str) -> Floats | None:
    """The years of a column of dates; None for a column of anything else."""
    if form not in DATES:
        return None
    days = profile.days(form)
    return np.array([date.fromordinal(int(day)).year for day in days if 1 <= day <= date.max.toordinal()], float)


def histogram(values: Floats) -> Histogram:
    """Count finite values in equal steps of 1, 2 or 5 times a power of ten, without the tails on either side."""
    smallest, largest = float(values.min()), float(values.max())
    # Of few values none is cut off.
    low = float(np.percentile(values, TAILS[0], method="lower"))
    high = float(np.percentile(values, TAILS[1], method="higher"))
    whole = bool((values == np.round(values)).all())
    step = _step((high - low) / MOST_BARS, whole)
    first = math.floor(low / step)
    bars = min(MOST_BARS + 2, math.floor(high / step) - first + 1)
    places = np.floor(np.clip(values / step, -1e15, 1e15)) - first
    drawn = (places >= 0) & (places < bars)
    counts = np.bincount(places[drawn].astype(np.int64), minlength=bars)
    return Histogram(
        first * step, step, counts.tolist(), int((places < 0).sum()), int((places >= bars).sum()),
        float(np.median(values)), smallest, largest,
    )  # fmt: skip


def _step(least: float, whole: bool) -> float:
    """The smallest of 1, 2, 5 x 10^n that is not below `least`; whole numbers are not parted.

    >>> _step(0.7, True), _step(0.013, False), _step(0.0, False)
    (1.0, 0.02, 1.0)
    """
    if whole:
        least = max(least, 1.0)
    if least <= 0 or not math.isfinite(least):
        return 1.0
    power = 10.0 ** math.floor(math.log10(least))
    return next((times * power for times in (1, 2, 5) if times * power >= least * (1 - 1e-9)), 10 * power)


def plain(value: float) -> str:
    """A number as a person writes it, without the noise of binary fractions.

    >>> plain(0.1 + 0.2), plain(2_100_000.0)
    ('0.3', '2,100,000')
    """
    return f"{value:,.10g}"


def sparkline(counts: Sequence[int]) -> str:
    """The bars of a histogram as one line of text, nothing as a space.

    >>> sparkline([0, 1, 4, 8])
    ' ▁▄█'
    """
    most = max(counts, default=0)
    return "".join(_EIGHTHS[max(0, math.ceil(8 * n / most) - 1)] if n else " " for n in counts)


def told(found: Glance) -> str:
    """The same in one line of plain text, for a terminal."""
    if found.histogram:
        bars = found.histogram
        return f"{plain(bars.low)} {sparkline(bars.counts)} {plain(bars.high)}"
    most = max((rows for _, rows in found.texts), default=1)
    return "  ".join(f"{sparkline([most, rows])[1:]} {text} {rows:,}" for text, rows in found.texts[:4])
