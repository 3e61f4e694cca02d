"""Matching by the city's own keys, where they are the same system: the places of the trees say whether they are."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from inventory.intake.merge import ground, shift, traits
from inventory.intake.merge.shift import Shift
from inventory.intake.merge.standing import Held
from inventory.intake.table import Bools, Floats, Ints, Texts

if TYPE_CHECKING:
    from inventory.intake.merge.match import Sides

# A tree under the same key this near is the same one, whatever else changed; of the same species it may be farther
# off. The distances are the project's choice: wider than a wrong address, narrower than another street.
SAME_M = 20.0
SAME_SPECIES_M = 200.0
# Below this share of agreeing places the keys were given anew and tell nothing; so they do where more rows lie on the
# very spot of another tree than on that of the tree under their key, as when rows were counted through once more.
HOLD = 0.5
SPOT_M = 1.0
# A repeated key goes to the one row that stands where the tree stands.
REPEATED_M = 5.0


def _none() -> Ints:
    return np.zeros(0, np.int64)


@dataclass
class ByKey:
    """What the keys tell: of each row its tree or vacant site (-1: none), and whether the keys hold at all."""

    tree: Ints = field(default_factory=_none)
    site: Ints = field(default_factory=_none)
    unclear: dict[int, str] = field(default_factory=dict)
    held: Ints = field(default_factory=_none)
    common: int = 0
    agreeing: int = 0
    hold: bool = False
    both_have: bool = False
    shift: Shift = shift.NONE


def by_key(both: "Sides") -> ByKey:
    """Match rows to trees and vacant sites under the same key, if most of them stand where they stood."""
    key = both.facts.table.texts["key"]
    open_ = ~both.refused & key.filled()
    tree = np.where(open_, _places(key, both.trees.texts["key"]), -1)
    site = np.where(open_, _places(key, both.vacant.texts["key"]), -1)
    # A key of a tree and of a vacant site: a row without a tree means the site.
    empty = both.facts.is_state("vacant")
    tree = np.where((site >= 0) & empty, -1, tree)
    site = np.where(tree >= 0, -1, site)
    found = ByKey(tree, site, both_have=bool(open_.any() and both.trees.texts["key"].filled().any()))
    repeated = open_ & (times(key, both.single)[key.codes] > 1)
    _judge(both, found, repeated)
    if not found.hold:
        nobody = np.full(len(tree), -1, np.int64)
        found.tree, found.site = nobody, nobody.copy()
        return found
    _one_of_each(both, found, repeated)
    return found


def _places(keys: Texts, held: Texts) -> Ints:
    """The place of each row's key among those of the inventory; -1 where it is not there."""
    code = {value: place for place, value in enumerate(held.values)}
    row_of = np.full(len(held.values), -1, np.int64)
    row_of[held.codes] = np.arange(len(held.codes))
    row_of[0] = -1
    at = np.array([row_of[code[value]] if value in code else -1 for value in keys.values], np.int64)
    return at[keys.codes]


def times(key: Texts, single: Bools) -> Ints:
    """On how many rows of the file each key stands, refused ones among them: one of them may be the tree's."""
    return np.bincount(key.codes[single], minlength=len(key.values))


def _judge(both: "Sides", found: ByKey, repeated: Bools) -> None:
    """Find out whether the keys hold: on how many trees that both sides have the places agree."""
    row = np.flatnonzero((found.tree >= 0) & ~repeated & both.facts.placed)
    tree = found.tree[row]
    found.common = len(row)
    east, north = apart(both, row, tree)
    found.shift = _shift(both, row, east, north)
    metres = np.hypot(east - found.shift.east_m, north - found.shift.north_m)
    same = traits.agreement(both.row_traits, row, both.tree_traits, tree) == traits.SAME
    agrees = (metres <= SAME_M) | (same & (metres <= SAME_SPECIES_M))
    others = metres > _nearest(both, found.shift, row) + SPOT_M
    found.agreeing = int((agrees & ~others).sum())
    sites = int((found.site >= 0).sum())
    on_spot = int((metres <= SPOT_M).sum())
    found.hold = found.agreeing >= HOLD * found.common and on_spot >= int(others.sum()) if found.common else sites > 0
    if found.hold:
        _reused(both, found, row[~agrees], metres[~agrees])


def _shift(both: "Sides", rows: Ints, east: Floats, north: Floats) -> Shift:
    """The common shift of pairs under one key; none where the rows lie on trees as they are (a row of street trees)."""
    found = shift.common(east, north)
    if found.metres > 2 * SPOT_M and np.isfinite(_nearest(both, shift.NONE, rows)).mean() > HOLD:
        return shift.NONE
    return found


def _nearest(both: "Sides", moved: Shift, rows: Ints) -> Floats:
    """How far off the nearest tree within SPOT_M of each row is, whatever its key; infinity for none."""
    places = both.rows_at.at(rows).moved(-moved.east_m, -moved.north_m)
    up = np.flatnonzero(both.trees.standing)
    pairs = ground.near(places, both.trees_at.at(up), SPOT_M)
    found = np.full(len(rows), np.inf)
    np.minimum.at(found, pairs.one, pairs.metres)
    return found


def _reused(both: "Sides", found: ByKey, rows: Ints, metres: Floats) -> None:
    """Rows under a key that here is another tree's: far away and of another species, or farther than any mistake."""
    key = both.facts.table.texts["key"]
    for row, off in zip(rows.tolist(), metres.tolist(), strict=True):
        found.unclear[row] = f"the key {key.at(row)} is here that of a tree {off:,.0f} m away, not surely the same one"
    found.held = np.concatenate([found.held, found.tree[rows]])
    found.tree[rows] = -1


def apart(both: "Sides", rows: Ints, trees: Ints) -> tuple[Floats, Floats]:
    """Metres east and north from the trees here to the rows of the file."""
    ours, theirs = both.trees.numbers, both.facts.table.numbers
    return ground.offset_m(ours["lon"][trees], ours["lat"][trees], theirs["lon"][rows], theirs["lat"][rows])


def _one_of_each(both: "Sides", found: ByKey, repeated: Bools) -> None:
    """Give a repeated key to the one row that stands where its tree stands; of the others nothing can be told."""
    rows = np.flatnonzero(repeated)
    if not len(rows):
        return
    key = both.facts.table.texts["key"]
    often = times(key, both.single)
    keyed = rows[found.tree[rows] >= 0]
    near = _at_their_trees(both, found, keyed)
    winners = np.bincount(key.codes[near], minlength=len(key.values))
    won = near[winners[key.codes[near]] == 1]
    lost = np.setdiff1d(rows, won)
    for row in lost.tolist():
        found.unclear[row] = f"the key {key.at(row)} stands on {often[key.codes[row]]} rows of the file"
    held = found.tree[lost]
    found.tree[lost] = found.site[lost] = -1
    found.held = np.setdiff1d(np.concatenate([found.held, held[held >= 0]]), found.tree[won])


def _at_their_trees(both: "Sides", found: ByKey, rows: Ints) -> Ints:
    trees = found.tree[rows]
    east, north = apart(both, rows, trees)
    metres = np.hypot(east - found.shift.east_m, north - found.shift.north_m)
    like = traits.agreement(both.row_traits, rows, both.tree_traits, trees) != traits.DIFFERS
    return np.asarray(rows[(metres <= REPEATED_M) & like])


def holders(trees: Held, values: Sequence[str]) -> Ints:
    """The tree that has each of these keys; -1 for none."""
    return _places(Texts(np.arange(len(values)), list(values)), trees.texts["key"])
