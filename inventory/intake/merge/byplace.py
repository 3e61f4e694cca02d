"""Matching by place, species and size: what the keys did not settle, step by step, the surest first."""

from typing import TYPE_CHECKING

import numpy as np

from inventory.intake.merge import ground, traits
from inventory.intake.merge.choose import choose
from inventory.intake.merge.ground import Pairs, Places
from inventory.intake.merge.standing import Held
from inventory.intake.neighbours import grouped
from inventory.intake.table import Bools, Floats, Ints, Table

if TYPE_CHECKING:
    from inventory.intake.merge.match import Matching, Sides

# How far two surveys may see one tree apart (hand-held satellite receivers under crowns are right to some 5 m), and
# how near an empty place must be to a tree to say that this tree is gone. Both are the project's choice.
NEAR_M = 5.0
SPOT_M = 2.0
# Of a larger pile on one point no row can be told from another, and every pair of them would be looked at.
MOST_ON_A_SPOT = 50
UNKNOWN_COSTS_M = 1.0
SEVERAL = "several trees here within {0:.0f} m could be it, or several rows of the file one tree"


def complete(both: "Sides", matching: "Matching", moved: Places) -> None:
    """Match what the keys left: standing rows, empty places, trees that are gone. Changes `matching`."""
    facts, trees = both.facts, both.trees
    open_ = ~both.refused & facts.placed
    live = open_ & facts.standing
    if not matching.shift.metres:
        _identical(both, matching, live)
    _piled(both, matching, live)
    _trees(both, matching, moved, live, trees.standing, NEAR_M)
    _sites(both, matching, moved, open_ & facts.is_state("vacant"))
    _trees(both, matching, moved, open_ & facts.is_state("stump"), trees.is_state("stump"), SPOT_M)
    _trees(both, matching, moved, open_ & ~facts.standing, trees.standing, SPOT_M, alike=False)
    _trees(both, matching, moved, live, trees.is_state("stump", "removed"), NEAR_M, hold=False)
    _sites(both, matching, moved, live)


def _allowed(both: "Sides", matching: "Matching", rows: Ints, trees: Ints, held: Held) -> Bools:
    """Where the keys hold, two records with different keys are two things."""
    if not matching.keys.hold:
        return np.ones(len(rows), bool)
    keys, ours = both.facts.table.texts["key"], held.texts["key"]
    return np.asarray((keys.codes[rows] == 0) | (ours.codes[trees] == 0))


def _identical(both: "Sides", matching: "Matching", live: Bools) -> None:
    """Rows that are equal to trees in all that both hold, as many on both sides: any order of them is the same."""
    rows, trees = matching.free_rows(live.copy()), matching.free_trees(both.trees.standing)
    if not len(rows) or not len(trees):
        return
    groups = grouped(_columns(both.facts.table, both.trees, rows, trees))
    size = int(groups.max()) + 1
    one, two = groups[: len(rows)], groups[len(rows) :]
    times = np.bincount(one, minlength=size), np.bincount(two, minlength=size)
    equal = (times[0] == times[1]) & (times[0] > 0)
    rows, one = rows[equal[one]], one[equal[one]]
    trees, two = trees[equal[two]], two[equal[two]]
    rows, trees = rows[np.argsort(one, kind="stable")], trees[np.argsort(two, kind="stable")]
    clear = _allowed(both, matching, rows, trees, both.trees)
    matching.tree[rows[clear]] = trees[clear]


def _columns(table: Table, held: Held, rows: Ints, trees: Ints) -> list[Floats]:
    """Place, sizes and texts of both sides, one after the other, as numbers that are equal where they are."""
    found = [
        np.concatenate([table.numbers[name][rows], held.numbers[name][trees]])
        for name in ("lon", "lat", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m")
    ]
    for name in ("species", "street", "number", "place", "note"):
        ours, theirs = table.texts[name], held.texts[name]
        code = {value: place for place, value in enumerate(theirs.values)}
        for value in ours.values:
            code.setdefault(value, len(code))
        of_file = np.array([code[value] for value in ours.values])
        found.append(np.concatenate([of_file[ours.codes[rows]], theirs.codes[trees]]).astype(float))
    return found


def _piled(both: "Sides", matching: "Matching", live: Bools) -> None:
    """Set aside what lies in piles on one point: rows as unclear, trees as held."""
    numbers = both.facts.table.numbers
    rows = matching.free_rows(live.copy())
    for row in rows[_pile(numbers["lon"][rows], numbers["lat"][rows])].tolist():
        matching.unclear[row] = f"more than {MOST_ON_A_SPOT} rows of the file lie on its point"
    trees, places = matching.free_trees(both.trees.standing), both.trees.numbers
    matching.held[trees[_pile(places["lon"][trees], places["lat"][trees])]] = True


def _pile(lon: Floats, lat: Floats) -> Bools:
    if not len(lon):
        return np.zeros(0, bool)
    _, place, counts = np.unique(lon + 1j * lat, return_inverse=True, return_counts=True)
    return np.asarray(counts[place] > MOST_ON_A_SPOT)


def _trees(
    both: "Sides", matching: "Matching", moved: Places, which: Bools, whose: Bools, metres: float,
    *, alike: bool = True, hold: bool = True,
) -> None:  # fmt: skip
    """Match some rows to some trees within a distance; `alike`: species and size must go together."""
    rows, trees = matching.free_rows(which.copy()), matching.free_trees(whose)
    pairs = ground.near(moved.at(rows), both.trees_at.at(trees), metres)
    allowed = _allowed(both, matching, rows[pairs.one], trees[pairs.two], both.trees)
    pairs = pairs.only(allowed)
    cost = pairs.metres
    if alike:
        pairs, cost = _alike(both, matching, rows, trees, pairs)
    chosen = choose(pairs, cost, (len(rows), len(trees)))
    matching.tree[rows[chosen.one]] = trees[chosen.two]
    for row in rows[chosen.unclear_one].tolist():
        matching.unclear[row] = SEVERAL.format(metres)
    if hold:
        matching.held[trees[chosen.unclear_two]] = True


def _alike(both: "Sides", matching: "Matching", rows: Ints, trees: Ints, pairs: Pairs) -> tuple[Pairs, Floats]:
    """The pairs of one species, or one unknown, and a plausible size; and what each costs (metres)."""
    row, tree = rows[pairs.one], trees[pairs.two]
    agrees = traits.agreement(both.row_traits, row, both.tree_traits, tree)
    now, before = both.row_traits.dbh_cm[row] / matching.factor, both.tree_traits.dbh_cm[tree]
    good = (agrees != traits.DIFFERS) & traits.plausible(now, before)
    cost = pairs.metres + UNKNOWN_COSTS_M * (agrees != traits.SAME) + traits.unlikeness(now, before)
    return pairs.only(good), np.asarray(cost[good])


def _sites(both: "Sides", matching: "Matching", moved: Places, which: Bools) -> None:
    """Match some rows to vacant sites on the spot."""
    rows, sites = matching.free_rows(which.copy()), matching.free_sites(len(both.vacant))
    pairs = ground.near(moved.at(rows), both.vacant_at.at(sites), SPOT_M)
    pairs = pairs.only(_allowed(both, matching, rows[pairs.one], sites[pairs.two], both.vacant))
    chosen = choose(pairs, pairs.metres, (len(rows), len(sites)))
    matching.site[rows[chosen.one]] = sites[chosen.two]
    # A new tree between two vacant sites is a new tree all the same.
    if not both.facts.standing[rows].any():
        for row in rows[chosen.unclear_one].tolist():
            matching.unclear[row] = "several vacant sites here could be it"
