"""What whole files differ in, told in words with counts: keys given anew, other rounding, renamed species, and more."""

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from inventory.intake.mapping import Mapping
from inventory.intake.merge import systematic
from inventory.intake.merge.differ import KEPT, SIZES
from inventory.intake.roles import SIZES as UNITS
from inventory.intake.table import Floats

if TYPE_CHECKING:
    from inventory.intake.merge.plan import Plan

# The project's choice: fewer trees than these are no system.
FEW_RENAMED, FEW_OFFSET = 5, 10
RENAMED_SHARE, OFFSET_SHARE, GROWTH_SHARE = 0.5, 0.05, 0.6
MANY_VANISHED = 0.2
MOST_RENAMED = 20
# A size's name in words, its roles in a mapping, and how much of the size one of the role is.
_SIZES: Final = {
    "dbh": ("stem", {"dbh": 1.0, "girth": 1 / math.pi, "radius": 2.0}),
    "height": ("height", {"height": 1.0}),
    "crown": ("crown width", {"crown": 1.0, "crown_radius": 2.0}),
}


@dataclass(frozen=True)
class Notice:
    """One thing that holds for many trees: its kind, the words, how many of how many, and the field it is about."""

    kind: str
    text: str
    rows: int
    of: int
    field: str = ""

    def as_dict(self) -> dict[str, Any]:
        """As JSON."""
        return {"kind": self.kind, "text": self.text, "rows": self.rows, "of": self.of, "field": self.field}


def notices(plan: "Plan", mapping: Mapping) -> list[Notice]:
    """Everything that a person should know before the merge, the most far-reaching first."""
    found = _keys(plan) + _shift(plan)
    for name in SIZES:
        found += _factor(plan, name) or [*_offsets(plan, name, mapping), *_smaller(plan, name)]
    return found + _renamed(plan) + _older(plan) + _vanished(plan)


def _keys(plan: "Plan") -> list[Notice]:
    keys, matched = plan.matching.keys, int((plan.matching.tree >= 0).sum())
    if not keys.both_have or keys.hold:
        return []
    if keys.common:
        told = f"of {keys.common:,} keys that stand here and in the file only {keys.agreeing:,} are on the same tree"
    else:
        told = "no key of the file stands here"
    text = f"the keys were given anew: {told}. The trees are matched by place, species and size"
    return [Notice("keys_renumbered", text, matched, len(plan.kinds), "key")]


def _shift(plan: "Plan") -> list[Notice]:
    shift = plan.matching.shift
    if not shift.metres:
        return []
    ways = [f"{abs(shift.east_m):.2f} m {'east' if shift.east_m > 0 else 'west'}"] if abs(shift.east_m) >= 0.005 else []
    if abs(shift.north_m) >= 0.005:
        ways.append(f"{abs(shift.north_m):.2f} m {'north' if shift.north_m > 0 else 'south'}")
    text = (
        f"{shift.pairs:,} of {shift.of:,} trees lie {' and '.join(ways)} of where they are here: the points are"
        " shifted, as another datum or a wrong system of coordinates does. The places here are kept unless asked"
        " otherwise"
    )
    return [Notice("shifted", text, shift.pairs, shift.of, "location")]


def _factor(plan: "Plan", name: str) -> list[Notice]:
    factor = plan.factors.get(name)
    if factor is None:
        return []
    meaning = f": {factor.meaning}" if factor.meaning else ""
    text = (
        f"{factor.trees:,} of {factor.of:,} trees have {factor.times:.4g} times the {_SIZES[name][0]} that they have"
        f" here{meaning}. The sizes here are kept unless asked otherwise"
    )
    return [Notice("factor", text, factor.trees, factor.of, name)]


def _known(plan: "Plan", name: str) -> tuple[Floats, Floats]:
    """The sizes in the file and here of the pairs that have both."""
    now, before = systematic.values(plan.both, plan.trees, name)
    known = ~np.isnan(now) & ~np.isnan(before)
    return now[known], before[known]


def _offsets(plan: "Plan", name: str, mapping: Mapping) -> list[Notice]:
    """A difference that many trees share to the last digit, in the unit of the file, as other rounding makes it."""
    unit, scale = _unit(name, mapping)
    now, before = _known(plan, name)
    if not unit or not len(now):
        return []
    apart = np.round((now - before) / scale, 3)
    rounding = _rounding(before, now, scale)
    found = []
    for offset, times in Counter(apart[apart != 0].tolist()).most_common(3):
        # Steps up are growth, unless nearly all trees made them or they fill in what was rounded.
        growth = offset > 0 and (offset == round(offset) or not rounding)
        if times < FEW_OFFSET or times < (GROWTH_SHARE if growth else OFFSET_SHARE) * len(now):
            continue
        way = "larger" if offset > 0 else "smaller"
        text = f"{times:,} of {len(now):,} trees have a {_SIZES[name][0]} exactly {_amount(abs(offset), unit)} {way}"
        told = f"{text}: {rounding or 'rounding changed, or measured otherwise'}"
        found.append(Notice("offset", told, times, len(now), name))
    return found


def _unit(name: str, mapping: Mapping) -> tuple[str, float]:
    """The unit in which the file has a size, and how much of the size here one of it is."""
    for role, times in _SIZES[name][1].items():
        for column in mapping.of(role):
            return column.unit, UNITS[role][column.unit] * times
    return "", 1.0


def _amount(offset: float, unit: str) -> str:
    inch = unit == "in" and offset == 0.5
    return "half an inch" if inch else f"{offset:g} {unit}"


def _rounding(before: Floats, now: Floats, scale: float) -> str:
    """Whether whole numbers became finer ones, or finer ones whole, in words; empty for neither."""
    whole = [float((np.abs(v / scale - np.round(v / scale)) < 1e-6).mean()) for v in (before, now)]
    finer = whole[0] > 0.95 and whole[1] < 0.9
    coarser = whole[1] > 0.95 and whole[0] < 0.9
    if finer or coarser:
        was, became = ("whole", "finer") if finer else ("finer", "whole")
        return f"rounding changed ({was} numbers before, {became} ones now)"
    return ""


def _smaller(plan: "Plan", name: str) -> list[Notice]:
    """Stems do not shrink; crowns and heights are lost to storms and saws."""
    now, before = _known(plan, name)
    shrunk = int((now < before * (1 - 1e-9) - 1e-9).sum())
    if name != "dbh" or not shrunk:
        return []
    text = f"{shrunk:,} of {len(now):,} trees have a smaller stem than before: stems do not shrink"
    return [Notice("shrinking", text, shrunk, len(now), name)]


def _renamed(plan: "Plan") -> list[Notice]:
    found = plan.trees
    ours, theirs = plan.both.trees.texts["species"], plan.both.facts.table.texts["species"]
    of_text = np.bincount(ours.codes[found.held], minlength=len(ours.values))
    differs = found.differs["species"]
    pairs = Counter(
        zip(ours.codes[found.held[differs]].tolist(), theirs.codes[found.rows[differs]].tolist(), strict=True)
    )
    told = []
    for (old, new), times in pairs.most_common(MOST_RENAMED):
        if times >= FEW_RENAMED and times >= RENAMED_SHARE * of_text[old] and old:
            text = f"{times:,} of {of_text[old]:,} trees called {ours.values[old]!r} are now {theirs.values[new]!r}"
            told.append(Notice("renamed", text, times, int(of_text[old]), "species"))
    return told


def _older(plan: "Plan") -> list[Notice]:
    found = plan.trees
    differ = found.any_of(*SIZES)
    kept = np.logical_or.reduce([found.differs[name] & (found.stands[name] == KEPT) for name in SIZES])
    if not kept.any():
        return []
    rows, of = int(kept.sum()), int(differ.sum())
    text = f"{rows:,} of {of:,} trees with other sizes were measured here after the day of the file: theirs are kept"
    return [Notice("older_than_ours", text, rows, of)]


def _vanished(plan: "Plan") -> list[Notice]:
    standing = int(plan.both.trees.standing.sum())
    if len(plan.vanished) <= MANY_VANISHED * standing:
        return []
    text = f"{len(plan.vanished):,} of {standing:,} trees here are not in the file: is it the whole city's?"
    return [Notice("many_vanished", text, len(plan.vanished), standing)]
