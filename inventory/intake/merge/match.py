"""Which row of a file is which tree or vacant site here: by key where keys hold, else by place, species and size."""

from dataclasses import dataclass, field

import numpy as np

from inventory.intake.examine import Examination
from inventory.intake.facts import Facts
from inventory.intake.merge import byplace, ground, keys, shift, traits
from inventory.intake.merge.ground import Places
from inventory.intake.merge.keys import ByKey
from inventory.intake.merge.shift import Shift
from inventory.intake.merge.standing import Held
from inventory.intake.merge.traits import Traits
from inventory.intake.table import Bools, Floats, Ints

# Refusals of a load that are none of a merge: a tree that is gone is news, a repeated key may be told apart by place.
NOT_HERE = ("removed", "key_repeated")
COPY = "duplicate"


@dataclass
class Sides:
    """A file and an inventory, ready to be compared."""

    facts: Facts
    trees: Held
    vacant: Held
    # Rows that intake refuses, whatever stands here.
    refused: Bools
    # Rows that say something of their own: not those that repeat another one in everything.
    single: Bools
    rows_at: Places
    trees_at: Places
    vacant_at: Places
    row_traits: Traits
    tree_traits: Traits


@dataclass
class Matching:
    """Of each row the tree and the vacant site that it is (-1: none), and why it could be told of none."""

    tree: Ints
    site: Ints
    unclear: dict[int, str] = field(default_factory=dict)
    # Trees that an unclear row may be: nothing is said of them.
    held: Bools = field(default_factory=lambda: np.zeros(0, bool))
    by_key: Bools = field(default_factory=lambda: np.zeros(0, bool))
    keys: ByKey = field(default_factory=ByKey)
    shift: Shift = shift.NONE
    factor: float = 1.0

    def free_rows(self, which: Bools) -> Ints:
        """Those of the rows that are nothing yet."""
        which = which & (self.tree < 0) & (self.site < 0)
        which[list(self.unclear)] = False
        return np.flatnonzero(which)

    def free_trees(self, which: Bools) -> Ints:
        """Those of the trees that no row is."""
        taken = self.held.copy()
        taken[self.tree[self.tree >= 0]] = True
        return np.flatnonzero(which & ~taken)

    def free_sites(self, count: int) -> Ints:
        """The vacant sites that no row is."""
        free = np.ones(count, bool)
        free[self.site[self.site >= 0]] = False
        return np.flatnonzero(free)


def sides(examination: Examination, trees: Held, vacant: Held) -> Sides:
    """Put a judged file and the inventory beside each other."""
    facts = examination.facts
    numbers = facts.table.numbers
    middle = _middle(trees.numbers["lon"], trees.numbers["lat"])
    refused, single = np.zeros(len(facts.table), bool), np.ones(len(facts.table), bool)
    for check, rows, _ in examination.found:
        if check.name == COPY:
            single[rows] = False
        if check.severity == "refuse" and check.name not in NOT_HERE:
            refused[rows] = True
    return Sides(
        facts, trees, vacant, refused, single,
        ground.on_plane(numbers["lon"], numbers["lat"], middle),
        ground.on_plane(trees.numbers["lon"], trees.numbers["lat"], middle),
        ground.on_plane(vacant.numbers["lon"], vacant.numbers["lat"], middle),
        traits.of_rows(facts), traits.of_trees(trees),
    )  # fmt: skip


def _middle(lon: Floats, lat: Floats) -> tuple[float, float]:
    return (float(np.median(lon)), float(np.median(lat))) if len(lon) else (0.0, 0.0)


def match(both: Sides) -> Matching:
    """Match every row that is not refused. The order of the rows does not matter."""
    found = keys.by_key(both)
    count = len(both.facts.table)
    matching = Matching(
        found.tree.copy(), found.site.copy(), dict(found.unclear), np.zeros(len(both.trees), bool),
        np.zeros(count, bool), found,
    )  # fmt: skip
    matching.by_key = (found.tree >= 0) | (found.site >= 0)
    matching.held[found.held] = True
    matching.shift = _shift(both, matching)
    moved = both.rows_at.moved(-matching.shift.east_m, -matching.shift.north_m)
    matching.factor = _factor(both, matching, moved)
    byplace.complete(both, matching, moved)
    # Seen on all the pairs together it is surer than by votes or by keys alone.
    row = np.flatnonzero(matching.tree >= 0)
    matching.shift = shift.common(*keys.apart(both, row, matching.tree[row]))
    return matching


def _shift(both: Sides, matching: Matching) -> Shift:
    if matching.keys.hold:
        return matching.keys.shift
    live = matching.free_rows(both.facts.standing & ~both.refused)
    up = np.flatnonzero(both.trees.standing)
    some = both.row_traits.taken(live), both.tree_traits.taken(up)
    return shift.voted(both.rows_at.at(live), some[0], both.trees_at.at(up), some[1])


def _factor(both: Sides, matching: Matching, moved: Places) -> float:
    """How many times as large the file has the stems of trees that are surely the same; 1 where they are as here."""
    row = np.flatnonzero(matching.by_key & (matching.tree >= 0))
    tree = matching.tree[row]
    if not len(row):
        live = matching.free_rows(both.facts.standing & ~both.refused)
        up = np.flatnonzero(both.trees.standing)
        pairs = ground.near(moved.at(live), both.trees_at.at(up), 0.5)
        row, tree = live[pairs.one], up[pairs.two]
        alike = traits.agreement(both.row_traits, row, both.tree_traits, tree) == traits.SAME
        row, tree = row[alike], tree[alike]
    ratio = both.row_traits.dbh_cm[row] / both.tree_traits.dbh_cm[tree]
    ratio = ratio[np.isfinite(ratio) & (ratio > 0)]
    if len(ratio) < 20:
        return 1.0
    middle = float(np.median(ratio))
    common = np.abs(ratio / middle - 1) < 0.02
    return middle if abs(middle - 1) > 0.05 and common.mean() > 0.5 else 1.0
