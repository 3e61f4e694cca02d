"""Whether all points of a file lie a constant way off those here, as another datum or a wrong system gives."""

from dataclasses import dataclass

import numpy as np

from inventory.intake.merge import ground
from inventory.intake.merge.ground import Places
from inventory.intake.merge.traits import SAME, Traits, agreement
from inventory.intake.table import Floats, Ints

# A shift smaller than this is rounding; a datum taken for another moves points by 1 m to some 200 m.
LEAST_M = 0.3
MOST_M = 250.0
# So many of the pairs must lie within this of the common way for it to be one.
SHARE = 0.6
SAMPLE = 1_500
CELL_M = 2.0
_FEW = 5


@dataclass(frozen=True)
class Shift:
    """The common way from the inventory's points to the file's (metres), and how many of how many pairs show it."""

    east_m: float = 0.0
    north_m: float = 0.0
    pairs: int = 0
    of: int = 0

    @property
    def metres(self) -> float:
        """How far."""
        return float(np.hypot(self.east_m, self.north_m))


NONE = Shift()


def common(east: Floats, north: Floats) -> Shift:
    """The shift that pairs known to be the same trees show."""
    if len(east) < _FEW:
        return NONE
    way = float(np.median(east)), float(np.median(north))
    off = np.hypot(east - way[0], north - way[1])
    near = off <= max(0.15, 0.1 * np.hypot(*way))
    if np.hypot(*way) < LEAST_M or near.mean() < SHARE:
        return NONE
    return Shift(*way, int(near.sum()), len(east))


def voted(rows: Places, one: Traits, trees: Places, two: Traits) -> Shift:
    """The shift for which most rows of a sample find a tree of their species: for files without keys.

    Each row votes for the way to every tree of its species within MOST_M. Votes of trees that are not the same spread
    over the whole disc; those of the same tree fall on one place.
    """
    sample = _sample(rows, one)
    if len(sample) < 4 * _FEW:
        return NONE
    pairs = ground.near(rows.at(sample), trees, MOST_M)
    alike = agreement(one, sample[pairs.one], two, pairs.two) == SAME
    pairs = pairs.only(alike)
    east = rows.east[sample[pairs.one]] - trees.east[pairs.two]
    north = rows.north[sample[pairs.one]] - trees.north[pairs.two]
    if not len(east):
        return NONE
    return _peak(east, north, len(sample))


def _sample(rows: Places, traits: Traits) -> Ints:
    """Rows spread over the file by their place, so that the order of the file does not matter."""
    known = np.flatnonzero(np.isfinite(rows.east) & (traits.taxon >= 0))
    order = known[np.lexsort((rows.north[known], rows.east[known]))]
    return order[:: max(1, len(order) // SAMPLE)]


def _peak(east: Floats, north: Floats, voters: int) -> Shift:
    cells = np.stack([np.floor(east / CELL_M), np.floor(north / CELL_M)], axis=1).astype(np.int64)
    found, counts = np.unique(cells, axis=0, return_counts=True)
    middle = (found[np.argmax(counts)] + 0.5) * CELL_M
    near = np.hypot(east - middle[0], north - middle[1]) <= 1.5 * CELL_M
    way = float(np.median(east[near])), float(np.median(north[near]))
    votes = int((np.hypot(east - way[0], north - way[1]) <= CELL_M).sum())
    still = int((np.hypot(east, north) <= CELL_M).sum())
    # What is already right is not moved.
    if np.hypot(*way) < LEAST_M or votes < 0.4 * voters or votes < 1.5 * still:
        return NONE
    return Shift(*way, votes, voters)
