"""Sizes that are the numbers of classes: told by a column of classes beside them, or by stems that grow with them."""

import math
from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np

from inventory.intake import cells
from inventory.intake.proportions import HEIGHT_OF
from inventory.intake.roles import CM, METRES, ROLES
from inventory.intake.sampled import Sample
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# So many different whole numbers at most, and so large, are the numbers of classes.
KINDS, HIGHEST, PURE = (3, 14), 15, 0.98
# Heights as classes of ten must lie so much nearer (logarithm) to those of the file's stems than as plain heights.
NEARER = 0.7
SIZED = ("height", "crown", "dbh", "girth")


def settle(sample: Sample) -> list[str]:
    """Take numbers of classes for what they are; return what a person should know. Changes `sample.chosen`."""
    doubts = []
    for profile in sample.profiles:
        opinion = _size(sample, profile.heading)
        if opinion and _like_codes(sample, profile.heading):
            if classes := _classes_beside(sample, profile.heading):
                doubts.append(_replaced(sample, profile.heading, opinion, classes))
            elif opinion.role == "height" and (told := _tens(sample, profile.heading, opinion)):
                doubts.append(told)
    return doubts


def _size(sample: Sample, heading: str) -> Opinion | None:
    """The size that a column is taken for, or could be where no other is: codes are too small to be believed."""
    if heading in sample.chosen:
        opinion = sample.chosen[heading]
        return opinion if opinion.role in SIZED else None
    found = (o for o in sample.opinions_of.get(heading, []) if o.role in SIZED and sample.of(o.role) is None)
    return next(found, None)


def _like_codes(sample: Sample, heading: str) -> bool:
    profile = sample.profile(heading)
    numbers = profile.numbers
    whole = profile.numeric > 0.95 and not (numbers % 1).any() and 0 <= numbers.min() <= numbers.max() <= HIGHEST
    return bool(whole and KINDS[0] <= len(profile.counts) <= KINDS[1])


def _classes_beside(sample: Sample, heading: str) -> str | None:
    """The column whose classes stand one for one beside these numbers, in the same order."""
    codes = sample.numbers(heading)
    for profile in sample.profiles:
        if profile.heading == heading or profile.numeric > 0.5 or len(profile.counts) > KINDS[1] + 2:
            continue
        beside: dict[float, Counter[str]] = defaultdict(Counter)
        for code, cell in zip(codes, sample.column(profile.heading), strict=True):
            if not math.isnan(code) and cell.strip():
                beside[code][cell.strip()] += 1
        commonest = {code: texts.most_common(1)[0] for code, texts in beside.items()}
        rows = sum(sum(texts.values()) for texts in beside.values())
        lows = [cells.interval(text)[0] for _, (text, _) in sorted(commonest.items())]
        known = [low for low in lows if math.isfinite(low)]
        pure = rows and sum(n for _, n in commonest.values()) >= PURE * rows
        if pure and len(known) >= KINDS[0] and len(known) >= len(lows) - 2 and known == sorted(known):
            return profile.heading
    return None


def _replaced(sample: Sample, heading: str, opinion: Opinion, classes: str) -> str:
    sample.chosen.pop(heading, None)
    role = f"{opinion.role}_class"
    why = f"the numbers of {heading!r} stand one for one, in order, for the classes of {classes!r}"
    if role in ROLES and sample.of(role) in (None, classes):
        found = next((o for o in sample.opinions_of[classes] if o.role == role), None)
        written = next((unit for unit, _ in sample.profile(classes).units.most_common(1)), "")
        unit = found.unit if found else written if written in ROLES[role].units else opinion.unit
        sample.chosen[classes] = Opinion(role, 0.9, why, unit, "range")
    return f"{why}: they are no sizes"


def _tens(sample: Sample, heading: str, opinion: Opinion) -> str:
    """Heights of one to ten that are far too low for their stems, and grow with them: numbers of classes of ten."""
    stem = next((h for h, o in sample.chosen.items() if o.role == "dbh" and o.unit), None)
    if stem is None or sample.of("height_class"):
        return ""
    dbh = sample.numbers(stem) * CM[sample.chosen[stem].unit]
    codes = sample.numbers(heading)
    known = np.isfinite(dbh) & (dbh > 0) & np.isfinite(codes)
    if known.sum() < 50 or np.ptp(codes[known]) == 0:
        return ""
    usual = np.exp(HEIGHT_OF[0] + HEIGHT_OF[1] * np.log(dbh[known]))
    order = float(np.corrcoef(codes[known], np.log(dbh[known]))[0, 1])
    plain = _off(codes[known] * METRES[opinion.unit], usual)
    offs = {unit: _off((codes[known] * 10 + 5) * METRES[unit], usual) for unit in ("ft", "m")}
    unit = min(offs, key=lambda name: offs[name])
    if order < 0.3 or offs[unit] + NEARER > plain:
        return ""
    why = (
        f"whole numbers to {codes[known].max():g} that rise with the stems (correlation {order:.2f}): as heights they "
        f"are off those of such stems by {math.exp(plain):.2g} times, as classes of ten {unit} by "
        f"{math.exp(offs[unit]):.2g} times"
    )
    as_class = replace(opinion, role="height_class", unit=unit, format="tens", confidence=0.65, evidence=why, rival="")
    sample.chosen[heading] = as_class
    return why


def _off(heights: Floats, usual: Floats) -> float:
    with np.errstate(divide="ignore"):
        return float(abs(np.median(np.log(heights / usual))))
