"""Tree-years at risk: a rating's time under its category, cut short at any treatment, removal or change of target."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, overload

import numpy as np
import numpy.typing as npt

from assessments.methods.risk import FAILURE

METHOD: Final = "tree_years_at_risk"
VERSION: Final = 2

# What ends a spell. After any of them nothing is at risk until the tree is rated again; after a removal never again.
ENDINGS: Final = ("failure", "treatment", "removal", "target_change")
FAILED, REMOVED = ENDINGS.index("failure"), ENDINGS.index("removal")
_RATED_AGAIN, _OPEN = len(ENDINGS), len(ENDINGS) + 1
ENDED_BY: Final = (*ENDINGS, "rated_again", "open")
DAYS_A_YEAR: Final = 365.25

Rows = npt.NDArray[np.void]
# `day`: date.toordinal(); `category`: place in risk.FAILURE from 1; `zone`, `storm`: a number, 0 for none;
# `kind`: place in ENDINGS. Of several ratings of a tree on one day the last row stands.
RATED: Final = np.dtype([("tree", "i8"), ("day", "i4"), ("category", "u1"), ("zone", "i4")])
ENDING: Final = np.dtype([("tree", "i8"), ("day", "i4"), ("kind", "u1"), ("storm", "i4")])
SPELL: Final = np.dtype(
    [("tree", "i8"), ("category", "u1"), ("zone", "i4"), ("start", "i4"), ("end", "i4"), ("by", "u1"), ("storm", "i4")]
)
_DAYS: Final = 1 << 22  # more than any day's number
_NEVER: Final = _DAYS - 1


@dataclass(frozen=True)
class Rated:
    """A tree was put into a likelihood category on a day; `zone` is where its gusts are told for."""

    tree: str
    category: str
    day: date
    zone: str = ""


@dataclass(frozen=True)
class Ending:
    """Something that ends a tree's time at risk; `storm`: of a failure, the storm that brought it."""

    tree: str
    day: date
    kind: str
    storm: str | None = None

    def __post_init__(self) -> None:
        if self.kind not in ENDINGS:
            raise ValueError(f"kind: must be one of {', '.join(ENDINGS)}")


@dataclass(frozen=True)
class Spell:
    """Time of a tree under one category, `start` to `end` (not included). `ended_by`: ENDINGS, rated_again or open."""

    tree: str
    category: str
    zone: str
    start: date
    end: date
    ended_by: str
    storm: str | None = None

    @property
    def years(self) -> float:
        """Length in years."""
        return (self.end - self.start).days / DAYS_A_YEAR


class Spells(Sequence[Spell]):
    """Spells as rows of SPELL, with the names of their zones and storms by number (0: none) and of their trees."""

    def __init__(
        self,
        rows: Rows,
        zones: Sequence[str] = ("",),
        storms: Sequence[str] = ("",),
        trees: Sequence[str] | None = None,
    ) -> None:
        self.rows = rows
        self.zones = zones
        self.storms = storms
        self._trees = trees

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, place: int) -> Spell: ...

    @overload
    def __getitem__(self, place: slice) -> "Spells": ...

    def __getitem__(self, place: int | slice) -> "Spell | Spells":
        if isinstance(place, slice):
            return Spells(self.rows[place], self.zones, self.storms, self._trees)
        return self._spell(*self.rows[place].tolist())

    def __iter__(self) -> Iterator[Spell]:
        return (self._spell(*row) for row in self.rows.tolist())

    def _spell(self, tree: int, category: int, zone: int, start: int, end: int, by: int, storm: int) -> Spell:
        return Spell(
            str(tree) if self._trees is None else self._trees[tree],
            FAILURE[category - 1],
            self.zones[zone],
            date.fromordinal(start),
            date.fromordinal(end),
            ENDED_BY[by],
            self.storms[storm] or None,
        )


def spells(ratings: Iterable[Rated], endings: Iterable[Ending], until: date) -> Spells:
    """Cut each tree's ratings into spells up to a day. A failure on the day of the first rating belongs to it.

    >>> rated = [Rated("a", "possible", date(2020, 1, 1))]
    >>> [(s.ended_by, s.years) for s in spells(rated, [Ending("a", date(2022, 1, 1), "treatment")], date(2026, 1, 1))]
    [('treatment', 2.001368925393566)]
    """
    told, ended = list(ratings), list(endings)
    trees = sorted({one.tree for one in told} | {one.tree for one in ended})
    zones = ["", *sorted({one.zone for one in told} - {""})]
    storms = ["", *sorted({one.storm for one in ended if one.storm})]
    tree, zone, storm = ({name: place for place, name in enumerate(names)} for names in (trees, zones, storms))
    rated = [(tree[one.tree], one.day.toordinal(), FAILURE.index(one.category) + 1, zone[one.zone]) for one in told]
    over = [
        (tree[one.tree], one.day.toordinal(), ENDINGS.index(one.kind), storm[one.storm or ""] * (one.kind == "failure"))
        for one in ended
    ]
    rows = cut(np.array(rated, RATED), np.array(over, ENDING), until)
    return Spells(rows, zones, storms, trees)


def cut(ratings: Rows, endings: Rows, until: date) -> Rows:
    """Cut (n,) RATED rows into SPELL rows by (m,) ENDING rows, in order of tree and start.

    In steps: of all trees the first rating, then the second, and so on; as many for a million trees as for one.
    """
    rated, ended = _last_of_day(ratings), endings[np.lexsort((endings["kind"], endings["day"], endings["tree"]))]
    found = np.zeros(len(rated), SPELL)
    for name in ("tree", "category", "zone"):
        found[name] = rated[name]
    found["start"], found["by"] = rated["day"], _OPEN
    new = np.r_[True, rated["tree"][1:] != rated["tree"][:-1]][: len(rated)]
    rank = np.arange(len(rated)) - np.maximum.accumulate(np.where(new, np.arange(len(rated)), 0))
    following = np.where(np.r_[new[1:], True][: len(rated)], _NEVER, np.r_[rated["day"][1:], 0][: len(rated)])
    keys = ended["tree"] * _DAYS + ended["day"]
    ended_before = np.zeros(len(rated), np.int64)  # of the tree's earlier spells, the day of the last ending
    for step in range(int(rank.max(initial=-1)) + 1):
        at = np.flatnonzero(rank == step)
        if step:
            by_ending = found["by"][at - 1] < _RATED_AGAIN
            ended_before[at] = np.where(by_ending, found["end"][at - 1], ended_before[at - 1])
        _end(found, at, following[at], (ended, keys, ended_before[at]), until.toordinal())
    counting: Rows = found[_counts(found, ended, until.toordinal())]
    return counting


def _last_of_day(ratings: Rows) -> Rows:
    """Ratings in order of tree and day, of each day the last one given."""
    rated = ratings[np.lexsort((ratings["day"], ratings["tree"]))]  # a stable sort
    later = (rated["tree"][1:] == rated["tree"][:-1]) & (rated["day"][1:] == rated["day"][:-1])
    last: Rows = rated[~np.r_[later, False][: len(rated)]]
    return last


def _end(found: Rows, at: npt.NDArray[Any], following: npt.NDArray[Any], over: tuple[Any, ...], until: int) -> None:
    """Tell how the spells at some places end: at an ending not used yet, the next rating, or not up to today."""
    ended, keys, before = over
    tree = found["tree"][at]
    first = np.searchsorted(keys, tree * _DAYS + np.maximum(found["start"][at], before + 1))
    padded = np.r_[ended, np.zeros(1, ENDING)]
    there = (first < len(ended)) & (padded["tree"][first] == tree)
    day = np.where(there, padded["day"][first], _NEVER)
    end, by = np.full(len(at), until), np.full(len(at), _OPEN)
    again = following <= end
    end, by = np.where(again, following, end), np.where(again, _RATED_AGAIN, by)
    # On one day an ending comes before a new rating: the new one was made after it.
    over_now = day <= end
    found["end"][at] = np.where(over_now, day, end)
    found["by"][at] = np.where(over_now, padded["kind"][first], by)
    failed = over_now & (padded["kind"][first] == FAILED)
    found["storm"][at] = np.where(failed, padded["storm"][first], 0)


def _counts(found: Rows, ended: Rows, until: int) -> npt.NDArray[np.bool_]:
    """Which spells count: begun by today, before the tree was gone, and of some length unless it failed at once."""
    removals = ended[ended["kind"] == REMOVED]
    trees, first = np.unique(removals["tree"], return_index=True)
    place = np.searchsorted(trees, found["tree"])
    padded_tree, padded_day = np.r_[trees, -1], np.r_[removals["day"][first], _NEVER]
    gone = np.where(padded_tree[place] == found["tree"], padded_day[place], _NEVER)
    begun = (found["start"] <= until) & (found["start"] <= gone)
    counts: npt.NDArray[np.bool_] = begun & ((found["end"] > found["start"]) | (found["by"] == FAILED))
    return counts
