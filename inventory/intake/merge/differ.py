"""What differs between the rows of a file and what they are here, field by field; the unknown differs from nothing."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.intake.merge import ground
from inventory.intake.merge.standing import Held
from inventory.intake.table import Bools, Floats, Ints, Texts

if TYPE_CHECKING:
    from inventory.intake.merge.match import Matching, Sides

# Six decimals of a degree are 0.11 m: nearer than this is the same place.
SAME_PLACE_M = 0.15
SIZES: Final = ("dbh", "height", "crown")
TREE_FIELDS: Final = ("key", "species", "planted", "state", "note", "location")
SITE_FIELDS: Final = ("street", "house_number", "place", "growing_space", "strip_width_m")
FIELDS: Final = (*TREE_FIELDS, *SITE_FIELDS, *SIZES)
# Field here, text of the file's table.
_SITE_TEXTS: Final = {"street": "street", "house_number": "number", "place": "place", "growing_space": "space"}
# Where a difference stands: whether the file may be taken without asking.
FREE, CONFLICT, KEPT, SYSTEMATIC = 0, 1, 2, 3
STANDINGS: Final = ("free", "conflict", "kept", "systematic")


@dataclass
class Differences:
    """Pairs of a row and a thing here; of each field the pairs that differ, and where each difference stands."""

    rows: Ints
    held: Ints  # places among the trees, or among the vacant sites
    metres: Floats  # how far apart, less the common shift
    differs: dict[str, Bools]
    stands: dict[str, Ints] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.rows)

    def any_of(self, *names: str) -> Bools:
        """The pairs that differ in any of these fields."""
        found = [self.differs[name] for name in names if name in self.differs]
        return np.logical_or.reduce(found) if found else np.zeros(len(self.rows), bool)


def of_trees(both: "Sides", matching: "Matching") -> Differences:
    """The differences of the standing rows from the standing trees that they are."""
    here = np.where(matching.tree >= 0, both.trees.standing[np.maximum(matching.tree, 0)], False)
    rows = np.flatnonzero(here & both.facts.standing)
    trees = matching.tree[rows]
    found = _places(both, both.trees, rows, trees, matching)
    found.differs |= {
        "key": _texts(both.facts.table.texts["key"], rows, both.trees.texts["key"], trees),
        "species": _species(both, rows, trees),
        "planted": _planted(both, rows, trees),
        "state": _state(both, rows, trees),
        "note": _texts(both.facts.table.texts["note"], rows, both.trees.texts["note"], trees),
    }
    sited = both.trees.whole["site_id"][trees] >= 0
    found.differs |= {name: which & sited for name, which in _site(both, both.trees, rows, trees).items()}
    found.differs |= {name: _size(both, name, rows, trees) for name in SIZES}
    found.stands = {name: np.zeros(len(rows), np.int64) for name in found.differs}
    return found


def of_sites(both: "Sides", matching: "Matching") -> Differences:
    """The differences of the vacant rows from the vacant sites that they are."""
    rows = np.flatnonzero((matching.site >= 0) & both.facts.is_state("vacant"))
    sites = matching.site[rows]
    found = _places(both, both.vacant, rows, sites, matching)
    found.differs |= _site(both, both.vacant, rows, sites)
    found.differs["key"] = _texts(both.facts.table.texts["key"], rows, both.vacant.texts["key"], sites)
    found.stands = {name: np.zeros(len(rows), np.int64) for name in found.differs}
    return found


def _places(both: "Sides", held: Held, rows: Ints, things: Ints, matching: "Matching") -> Differences:
    numbers, ours = both.facts.table.numbers, held.numbers
    east, north = ground.offset_m(ours["lon"][things], ours["lat"][things], numbers["lon"][rows], numbers["lat"][rows])
    metres = np.hypot(east - matching.shift.east_m, north - matching.shift.north_m)
    return Differences(rows, things, metres, {"location": np.hypot(east, north) > SAME_PLACE_M})


def _texts(theirs: Texts, rows: Ints, ours: Texts, things: Ints) -> Bools:
    """The pairs whose text in the file is another one; an empty cell of the file says nothing."""
    code = {value: place for place, value in enumerate(ours.values)}
    same = np.array([code.get(value, -1) for value in theirs.values])
    given = theirs.codes[rows]
    return np.asarray((given != 0) & (same[given] != ours.codes[things]))


def _species(both: "Sides", rows: Ints, trees: Ints) -> Bools:
    """Another text, unless what is held here has no text and is the same taxon."""
    ours = both.trees.texts["species"]
    other = _texts(both.facts.table.texts["species"], rows, ours, trees)
    same_taxon = both.row_traits.taxon[rows] == both.tree_traits.taxon[trees]
    return np.asarray(other & ~((ours.codes[trees] == 0) & same_taxon))


def _planted(both: "Sides", rows: Ints, trees: Ints) -> Bools:
    days, ours = both.facts.table.days, both.trees.whole
    other = [days[name][rows] != ours[name][trees] for name in ("planted_from", "planted_to")]
    return np.asarray((days["planted_from"][rows] >= 0) & (other[0] | other[1]))


def _state(both: "Sides", rows: Ints, trees: Ints) -> Bools:
    """Only where the file says so: most files have no word for a tree that lives."""
    said = both.facts.table.texts["state"].filled()[rows]
    return np.asarray(said & (both.facts.is_state("dead")[rows] != both.trees.is_state("dead")[trees]))


def _site(both: "Sides", held: Held, rows: Ints, things: Ints) -> dict[str, Bools]:
    found = {}
    for name, text in _SITE_TEXTS.items():
        found[name] = _texts(both.facts.table.texts[text], rows, held.texts[text], things)
    space = both.facts.table.texts["space"]
    known = np.array([value not in ("", "unknown") for value in space.values])
    found["growing_space"] &= known[space.codes[rows]]
    found["strip_width_m"] = _other(
        both.facts.table.numbers["strip_width_m"][rows], held.numbers["strip_width_m"][things]
    )
    return found


def _other(now: Floats, before: Floats) -> Bools:
    """The pairs whose number in the file is known and another one."""
    return np.asarray(~np.isnan(now) & ~np.isclose(now, before, rtol=1e-9, atol=1e-9))


def _size(both: "Sides", name: str, rows: Ints, trees: Ints) -> Bools:
    """A size that is another one, or a class of the file that does not hold the size here."""
    unit = "cm" if name == "dbh" else "m"
    numbers, ours = both.facts.table.numbers, both.trees.numbers
    now, before = numbers[f"{name}_{unit}"][rows], ours[f"{name}_{unit}"][trees]
    other = _other(now, before)
    if name == "crown":
        return other
    low, high = numbers[f"{name}_low_{unit}"][rows], numbers[f"{name}_high_{unit}"][rows]
    by_class = np.isnan(now) & ~np.isnan(low)
    outside = (before < low) | (before > high)
    low_here, high_here = ours[f"{name}_low_{unit}"][trees], ours[f"{name}_high_{unit}"][trees]
    ends = _other(low, low_here) | _other(high, high_here) | (np.isnan(high) & ~np.isnan(high_here))
    return np.where(by_class, np.where(np.isnan(before), ends, outside), other)
