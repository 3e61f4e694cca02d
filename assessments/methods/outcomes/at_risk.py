"""Tree-years at risk: a rating's time under its category, cut short at any treatment, removal or change of target."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

METHOD: Final = "tree_years_at_risk"
VERSION: Final = 1

# What ends a spell. After a treatment or a change of target nothing is at risk until the tree is rated again.
ENDINGS: Final = ("failure", "treatment", "removal", "target_change")
_LAST: Final = ("failure", "removal")
DAYS_A_YEAR: Final = 365.25


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


def spells(ratings: Iterable[Rated], endings: Iterable[Ending], until: date) -> tuple[Spell, ...]:
    """Cut each tree's ratings into spells up to a day. A failure on the day of the rating belongs to it.

    >>> rated = [Rated("a", "possible", date(2020, 1, 1))]
    >>> [(s.ended_by, s.years) for s in spells(rated, [Ending("a", date(2022, 1, 1), "treatment")], date(2026, 1, 1))]
    [('treatment', 2.001368925393566)]
    """
    by_tree: dict[str, list[Rated]] = {}
    for rating in ratings:
        by_tree.setdefault(rating.tree, []).append(rating)
    ended: dict[str, list[Ending]] = {}
    for ending in endings:
        ended.setdefault(ending.tree, []).append(ending)
    found: list[Spell] = []
    for tree, told in by_tree.items():
        found += _of_tree(sorted(told, key=lambda one: one.day), ended.get(tree, []), until)
    return tuple(sorted(found, key=lambda spell: (spell.tree, spell.start)))


def _of_tree(ratings: Sequence[Rated], endings: Sequence[Ending], until: date) -> list[Spell]:
    left = sorted(endings, key=lambda one: (one.day, ENDINGS.index(one.kind)))
    gone = min((one.day for one in left if one.kind in _LAST), default=None)
    # Of several ratings on one day the last given stands.
    days = {rating.day: rating for rating in ratings}
    found: list[Spell] = []
    for rating, following in zip(days.values(), [*list(days)[1:], None], strict=True):
        if rating.day > until or (gone is not None and rating.day > gone):
            break
        first = next((one for one in left if one.day >= rating.day), None)
        spell = _spell(rating, first, following, until)
        found.append(spell)
        if spell.ended_by in _LAST:
            break
        if spell.ended_by in ENDINGS:
            # What ended this spell ends no other.
            left = [one for one in left if one.day > spell.end]
    return [spell for spell in found if spell.years > 0 or spell.ended_by == "failure"]


def _spell(rating: Rated, ending: Ending | None, following: date | None, until: date) -> Spell:
    end, by, storm = until, "open", None
    if following is not None and following <= end:
        end, by = following, "rated_again"
    # On one day an ending comes before a new rating: the new one was made after it.
    if ending is not None and ending.day <= end:
        end, by, storm = ending.day, ending.kind, ending.storm
    return Spell(rating.tree, rating.category, rating.zone, rating.day, end, by, storm)
