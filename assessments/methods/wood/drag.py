"""Drag coefficient of a crown by species or genus, on its still-air frontal area at storm speed.

A coefficient measured at speed on still-air area already holds the crown's yielding: nothing more is taken off.
"""

from dataclasses import dataclass
from statistics import fmean
from typing import Final

from . import tables

METHOD: Final = "crown_drag"
VERSION: Final = 1

# Neither species nor genus known: middle and ends of the catalogue's values, and of juvenile trees at 20 m/s.
DEFAULT: Final = (0.12, 0.25, 0.35)
# Relative 80 % band where a source gives one value only: project's choice, as wide as the sources disagree.
BAND: Final = (0.7, 1.4)
# Leafless against leafed drag of deciduous crowns (from memory, low confidence).
LEAFLESS: Final = (0.3, 0.4, 0.5)


@dataclass(frozen=True)
class Drag:
    """A drag coefficient with its 80 % band, its basis (species, genus, default or given) and notes."""

    low: float
    best: float
    high: float
    basis: str
    notes: tuple[str, ...] = ()

    def leafless(self) -> "Drag":
        """Give the coefficient of the same crown without leaves."""
        low, best, high = LEAFLESS
        note = "Leafless drag is taken as 0.3 to 0.5 of the leafed one: from memory, low confidence."
        return Drag(self.low * low, self.best * best, self.high * high, self.basis, (*self.notes, note))


def drag_of(key: str, genus: str) -> Drag:
    """Give the drag coefficient of a species by its key, else of its genus, else the default.

    >>> drag_of("tilia cordata", "tilia").best, drag_of("ginkgo biloba", "ginkgo").basis
    (0.25, 'default')
    """
    rows = tables.catalogue()
    own = [rows[key]] if key in rows else [row for name, row in rows.items() if name.split()[0] == genus]
    if not own:
        return Drag(*DEFAULT, "default", ("No drag coefficient of the genus is known: 0.25 with a wide band is used.",))
    best = fmean(float(row["drag"]) for row in own)
    low = min(float(row["drag_low"] or row["drag"]) for row in own)
    high = max(float(row["drag_high"] or row["drag"]) for row in own)
    notes = ["Drag coefficient: Stuttgart catalogue from memory; other sources range from 0.15 to about 1."]
    if key not in rows:
        notes.append("The drag coefficient is the mean of the genus.")
    basis = "species" if key in rows else "genus"
    return Drag(min(low, best * BAND[0]), best, max(high, best * BAND[1]), basis, tuple(notes))
