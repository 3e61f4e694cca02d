"""Settles what the sizes of a file are by what they tell of each other and of the species; every change says why."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from inventory import catalogue
from inventory.intake import cells, unnamed
from inventory.intake.headings import unit_in
from inventory.intake.proportions import ASK, KINDS, MARGIN, Choice, Meaning, Sized, choices
from inventory.intake.relate import Conflict, stem
from inventory.intake.roles import SIZES
from inventory.intake.sampled import Sample
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# By how much one of two columns must fit better to be taken for the right one.
CLEAR = 3.0
# How clearly trees of later years are smaller, for the years to be those of planting.
OLDER = -0.4
SURE = 0.7


def sizes(sample: Sample, conflicts: Sequence[Conflict]) -> list[str]:
    """Change roles and units in `sample.chosen` where the sizes demand it; return what a person should know."""
    bounds = _bounds(sample)
    doubts = [_between(sample, conflict, bounds) for conflict in conflicts]
    unnamed.settle(sample, _sizes(sample), bounds)
    found = _sizes(sample)
    if found and (len(found) > 1 or np.isfinite(bounds[0]).any()):
        doubts += _units(sample, *choices(found, *bounds))
    return doubts


def planting(sample: Sample) -> None:
    """Take bare years under a heading that says nothing for planting years where thick trees have the earlier ones."""
    size = next((h for h, o in sample.chosen.items() if o.role in KINDS and o.unit), None)
    if days := sample.of("planted"):
        _years_beside(sample, days)
        return
    if size is None:
        return
    sizes, best = np.log(np.where(sample.numbers(size) > 0, sample.numbers(size), np.nan)), (OLDER, "")
    for heading in sample.free():
        if len(sample.profile(heading).counts) < 5 or sample.profile(heading).numeric < 0.9:
            continue
        years = sample.numbers(heading)
        years[(years < 1800) | (years > 2100) | (years % 1 > 0)] = np.nan
        both = np.isfinite(years) & np.isfinite(sizes)
        if both.sum() > 0.4 * len(years) and both.sum() >= 50 and np.ptp(years[both]) > 6:
            best = min(best, (float(np.corrcoef(years[both], sizes[both])[0, 1]), heading))
    if best[1]:
        why = f"years, and the trees of the earlier ones are larger in {size!r} (correlation {best[0]:.2f})"
        sample.chosen[best[1]] = Opinion("planted", 0.6, f"no heading says so, but {why}", format="year")


def _years_beside(sample: Sample, days: str) -> None:
    """Planting years beside planting days: a check on them, and what is known where they are empty."""
    for heading in sample.free():
        years = next((o for o in sample.opinions_of[heading] if o.role == "planted" and o.format == "year"), None)
        if years and sample.chosen[days].format != "year":
            why = f"the year of planting beside the day in {days!r}: where they disagree neither is taken"
            sample.chosen[heading] = Opinion("planted_year", years.confidence, f"{years.evidence}; {why}")
            return


def _units(sample: Sample, said: Choice, best: Choice) -> list[str]:
    changed = {heading: meaning for heading, meaning in best.meanings.items() if meaning != said.meanings[heading]}
    if not changed:
        return []
    as_said = _told(said.meanings, changed)
    why = f"{as_said}: {_words(said)}; {_told(best.meanings, changed)}: {_words(best)}"
    if best.total + MARGIN > said.total:
        close = best.fit.total + ASK < said.fit.total
        return [f"the sizes would fit each other and the species better otherwise; {why}"] if close else []
    for heading, meaning in changed.items():
        opinion = sample.chosen[heading]
        evidence = f"{opinion.evidence}; but what fits the other sizes and the species is another unit or role; {why}"
        sample.chosen[heading] = replace(
            opinion, role=meaning.role, unit=meaning.unit, confidence=SURE, evidence=evidence, rival=""
        )
    return [f"taken otherwise than headings or sizes alone say; {why}"]


def _told(meanings: dict[str, Meaning], changed: dict[str, Meaning]) -> str:
    told = (f"{heading!r} as {meanings[heading].role} in {meanings[heading].unit}" for heading in changed)
    return "with " + " and ".join(told)


def _words(choice: Choice) -> str:
    return ", ".join(choice.fit.words) or "nothing to compare with"


def _between(sample: Sample, conflict: Conflict, bounds: tuple[Floats, Floats]) -> str:
    """Which of two headings that disagree is right, in words; the other is not taken over."""
    rest = [sized for sized in _sizes(sample) if sized.kind != "stem"]
    found: list[tuple[float, str, Choice, Opinion]] = []
    for heading in (conflict.relation.one, conflict.relation.other):
        opinion = stem(conflict.opinions_of[heading])
        if opinion is not None:
            said, _ = choices([_sized(sample, heading, opinion), *rest], *bounds)
            found.append((said.fit.total, heading, said, opinion))
    if len(found) < 2:
        return conflict.words
    (least, right, good, opinion), (most, wrong, bad, _) = sorted(found, key=lambda one: one[0])
    pairs = ((right, good.meanings[right], good), (wrong, bad.meanings[wrong], bad))
    why = "; ".join(f"as {m.role} in {m.unit} {heading!r} has {_words(choice)}" for heading, m, choice in pairs)
    if most - least < CLEAR:
        return f"{conflict.words}, and neither the other sizes nor the species tell which ({why})"
    sample.chosen.pop(wrong, None)
    sample.chosen[right] = replace(opinion, confidence=SURE, evidence=f"{opinion.evidence}; {wrong!r} disagrees: {why}")
    return f"{conflict.words}: {right!r} is taken, because {why}"


def _sizes(sample: Sample) -> list[Sized]:
    """One column of each kind of size that is mapped."""
    found: dict[str, Sized] = {}
    for heading, opinion in sample.chosen.items():
        if opinion.role in KINDS and opinion.unit:
            found.setdefault(KINDS[opinion.role][0], _sized(sample, heading, opinion))
    return list(found.values())


def _sized(sample: Sample, heading: str, opinion: Opinion) -> Sized:
    profile, scale = sample.profile(heading), SIZES[opinion.role]
    values = np.array(
        [cells.sized(cell, profile.decimal, opinion.unit, scale) for cell in sample.column(heading)], float
    )
    values[~np.isfinite(values) | (values <= 0)] = np.nan
    inside = sum(n for unit, n in profile.units.items() if unit in scale) > 0.5 * len(profile.cells)
    source = "cells" if inside else "heading" if unit_in(heading) in scale else ""
    return Sized(heading, values, Meaning(opinion.role, opinion.unit), source)


@cache
def _catalogue() -> dict[str, tuple[float, float]]:
    """Largest stem (cm) and mature height (m) of each taxon; palms keep none of the proportions of other trees."""
    rows = catalogue.read_species()
    return {row.botanical_name: (row.max_dbh_cm or math.nan, row.mature_height_m) for row in rows if not row.palm}


def _bounds(sample: Sample) -> tuple[Floats, Floats]:
    """Largest stem and mature height of each row's species; NaN where not known."""
    parts = [heading for role in ("species", "genus", "epithet") if (heading := sample.of(role))]
    parts = parts or [heading for role in ("common",) if (heading := sample.of(role))]
    count = len(sample.column(sample.profiles[0].heading)) if sample.profiles else 0
    if not parts:
        return np.full(count, np.nan), np.full(count, np.nan)
    texts = [" ".join(filter(None, map(str.strip, row))) for row in zip(*map(sample.column, parts), strict=True)]
    match = sample.profile(parts[0]).names.match_many(texts)
    unknown = (math.nan, math.nan)
    pairs = np.array([_catalogue().get(match[text].botanical_name or "", unknown) for text in texts], float)
    pairs = pairs.reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]
