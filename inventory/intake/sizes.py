"""Judges which columns are sizes, in which unit, as numbers or as classes, and what two of them tell of each other.

The unit is the heading's or the cells' own; else the one in which the values are those of street trees.
"""

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inventory.intake import cells
from inventory.intake.headings import heading_words, named, unit_in
from inventory.intake.profile import Profile
from inventory.intake.roles import SIZES
from inventory.intake.table import Floats
from inventory.intake.weigh import Judge, Opinion, says, weigh

# What the middle and the 99th percentile of a city's street trees are about (SI): the unit in which a size is
# believable is the one that comes nearest to both (common practice, no source).
DBH_CM = (25.0, 100.0)
GIRTH_CM = (78.0, 314.0)
RADIUS_CM = (12.5, 50.0)
HEIGHT_M = (9.0, 25.0)
CROWN_M = (6.0, 18.0)
CROWN_RADIUS_M = (3.0, 9.0)
BASE_M = (2.5, 6.0)
# Heights beyond this are those of forests of giants: a city that says metres means feet.
TALL_M, GIANT_M = 45.0, 18.0
Scale = Mapping[str, float]
LEAST_CLASSED = 0.6
CLASS_WORDS = ("class", "range", "klasse", "classe", "clase", "stufe", "category", "categorie", "fascia", "rango",
               "classi", "classes", "klassen")  # fmt: skip
# Two columns are one quantity times a constant where so many rows have the factor, to within a hundredth.
CONSTANT, CLOSE, FEWEST = 0.9, 0.012, 20
FACTORS = {
    "x pi": math.pi, "x 2": 2.0, "x 2 pi": 2 * math.pi, "x 2.54 (inches to cm)": 2.54, "x 10 (cm to mm)": 10.0,
    "x 100 (m to cm)": 100.0, "x 3.281 (m to feet)": 1 / 0.3048, "x 12 (feet to inches)": 12.0, "x 1": 1.0,
    "x pi x 2.54 (diameter in inches, girth in cm)": math.pi * 2.54,
    "x pi x 10 (diameter in cm, girth in mm)": math.pi * 10,
    "x pi / 2.54 (diameter in cm, girth in inches)": math.pi / 2.54,
}  # fmt: skip


def sized(role: str, low: float, high: float, typical: tuple[float, float]) -> Judge:
    """A judge of sizes: the heading must name it; the unit is the heading's, the cells' or the believable one."""
    scale = SIZES[role]

    def judge(profile: Profile) -> Opinion | None:
        if not named(role, profile.heading) or says_class(profile.heading) or profile.sizes.numeric < 0.8:
            return None
        numbers = profile.sizes.numbers
        known = numbers[numbers > 0]
        # -1 and its like mean unknown; many of them, or many others below zero, are something else.
        if not len(known) or np.mean(numbers >= 0) < 0.7:
            return None
        middle, top = (float(value) for value in np.percentile(known, [50, 99]))
        unit, why, rival = _unit(profile, middle, top, scale, typical)
        fits = low <= middle * scale[unit] <= high
        evidence = f"{profile.sizes.numeric:.1%} numbers, half of them under {middle:g}, one in a hundred over {top:g}"
        told = f"{says(role, profile)}{evidence}; {why}"
        return Opinion(role, weigh(role, profile, 1.0 if fits else 0.5), told, unit, rival=rival)

    return judge


def _unit(
    profile: Profile, middle: float, top: float, scale: Scale, typical: tuple[float, float]
) -> tuple[str, str, str]:
    """The unit, why, and the unit that is nearly as believable where neither heading nor cells name one."""
    inside = Counter({unit: n for unit, n in profile.units.items() if unit in scale}).most_common(1)
    if inside and inside[0][1] > 0.5 * len(profile.cells):
        return inside[0][0], f"{inside[0][1] / len(profile.cells):.1%} of the values are written with it", ""
    unit = unit_in(profile.heading)
    if unit not in scale:
        return believable(middle, top, scale, typical)
    if typical == HEIGHT_M and unit == "m" and middle > GIANT_M and top > TALL_M:
        why = (
            f"the heading gives metres, but trees half over {middle:g} m and some over {top:g} m would be giants: feet"
        )
        return "ft", why, ""
    return unit, f"the heading gives {unit}", ""


def believable(middle: float, top: float, scale: Scale, typical: tuple[float, float]) -> tuple[str, str, str]:
    """The unit in which the middle and the large values come nearest to those of street trees, why, and the next."""

    def far(unit: str) -> float:
        times = scale[unit]
        return float(abs(np.log(middle * times / typical[0])) + abs(np.log(top * times / typical[1])))

    best, second = sorted(scale, key=far)[:2]
    return best, f"as {best} these are the sizes of street trees, rather than as {second}", second


def classed(role: str, typical: tuple[float, float]) -> Judge:
    """A judge of classes: ranges such as 07-12 and 31+, or the numbers 0 to 10 under a heading that says class."""
    scale, plain = SIZES[role], role.removesuffix("_class")

    def judge(profile: Profile) -> Opinion | None:
        told = named(role, profile.heading) or named(plain, profile.heading)
        # Intervals of metres or feet under a heading that says nothing are heights before they are anything else.
        written = sum(profile.units[unit] for unit in ("m", "ft")) > 0.5 * len(profile.cells)
        if not told and not (role == "height_class" and written):
            return None
        ends = [(cells.interval(cell, profile.decimal), n) for cell, n in profile.counts.items()]
        proper = sum(n for (low, high), n in ends if low < high or (math.isfinite(low) and math.isnan(high)))
        share = proper / len(profile.cells)
        if share < LEAST_CLASSED:
            return _codes(role, profile, typical) if told else None
        bounds = np.repeat([high if math.isfinite(high) else low for (low, high), _ in ends], [n for _, n in ends])
        bounds = bounds[np.isfinite(bounds) & (bounds > 0)]
        middle, top = (float(value) for value in np.percentile(bounds, [50, 99]))
        unit, why, rival = _unit(profile, middle, top, scale, typical)
        named_well = max(named(role, profile.heading), named(plain, profile.heading))
        evidence = f"{share:.1%} of the values are classes with two ends; {why}; kept as intervals"
        return Opinion(role, share * (0.6 + 0.35 * named_well), evidence, unit, "range", rival)

    return judge


def _codes(role: str, profile: Profile, typical: tuple[float, float]) -> Opinion | None:
    """Whole numbers from 0 to some ten under a heading that says class: classes of ten feet or ten units."""
    if not says_class(profile.heading) or profile.numeric < 0.95:
        return None
    numbers = profile.numbers
    if np.any(numbers != np.round(numbers)) or numbers.min() < 0 or numbers.max() > 12 or len(profile.counts) < 3:
        return None
    middle, top = float(np.median(numbers)) * 10 + 5, float(np.percentile(numbers, 99)) * 10 + 5
    units = {unit: times for unit, times in SIZES[role].items() if unit != "mm"}
    unit, why, rival = believable(middle, top, units, typical)
    whole = f"whole numbers {numbers.min():g} to {numbers.max():g}"
    evidence = f"{whole} under a heading that says class: classes of ten; {why}"
    return Opinion(role, 0.7, evidence, unit, "tens", rival)


def says_class(heading: str) -> bool:
    """Whether a heading says that its numbers are classes."""
    return any(word.endswith(end) for word in heading_words(heading).split() for end in CLASS_WORDS)


@dataclass(frozen=True)
class Relation:
    """Two columns of which one is the other times a constant on `share` of the rows that have both."""

    one: str
    other: str
    factor: float
    words: str
    share: float


def relations(headings: Sequence[str], columns: Sequence[Floats]) -> list[Relation]:
    """Every pair of these numeric columns with a constant factor between them (row by row the same rows)."""
    found = []
    for at, first in enumerate(columns):
        for to in range(at + 1, len(columns)):
            relation = _relation(headings[at], first, headings[to], columns[to])
            found += [relation] if relation else []
    return found


def _relation(one: str, first: Floats, other: str, second: Floats) -> Relation | None:
    both = np.isfinite(first) & np.isfinite(second) & (first > 0) & (second > 0)
    if both.sum() < FEWEST or len(np.unique(first[both])) < 5:
        return None
    turned = np.median(second[both] / first[both]) < 1
    low, high, names = (second, first, (other, one)) if turned else (first, second, (one, other))
    low, high = low[both], high[both]
    for words, factor in FACTORS.items():
        # Rounding of either to its last figure is allowed for.
        off = np.abs(high - factor * low)
        share = float(np.mean((off <= CLOSE * high) | (off <= 0.5 * (1 + factor) * (high == np.round(high)))))
        tight = float(np.median(off / high)) < CLOSE
        if share >= CONSTANT and tight:
            return Relation(*names, factor, words, share)
    return None


SIZE_JUDGES: tuple[Callable[[Profile], Opinion | None], ...] = (
    sized("dbh", 3, 150, DBH_CM),
    sized("girth", 8, 470, GIRTH_CM),
    sized("radius", 1.5, 75, RADIUS_CM),
    sized("height", 1.5, 45, HEIGHT_M),
    sized("crown", 1, 30, CROWN_M),
    sized("crown_radius", 0.5, 15, CROWN_RADIUS_M),
    sized("crown_base", 0.3, 15, BASE_M),
    classed("dbh_class", DBH_CM),
    classed("girth_class", GIRTH_CM),
    classed("height_class", HEIGHT_M),
)
