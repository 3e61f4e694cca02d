"""Finds sizes under headings that say nothing: columns that grow together as stems, heights and crowns of trees do."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, permutations, product

import numpy as np

from inventory.intake import by_species
from inventory.intake.headings import named
from inventory.intake.proportions import KINDS, MIXED, US, Meaning, Proportions, Sized
from inventory.intake.sampled import Sample
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# The logarithms of two sizes of the same trees go together at least so closely; so many values has a size.
TOGETHER, VALUES = 0.65, 12
# And species of larger stems have larger values at least so clearly, where there are species enough to tell.
BY_SPECIES = 0.3
# So badly may sizes fit for each of them, and by so much better than the next reading.
FITS, CLEAR = 4.0, 1.5
MOST = 4
SURE = 0.55
MEANINGS = {
    "stem": (Meaning("dbh", "cm"), Meaning("dbh", "in"), Meaning("girth", "cm")),
    "height": (Meaning("height", "m"), Meaning("height", "ft")),
    "crown": (Meaning("crown", "m"), Meaning("crown", "ft")),
}
Reading = dict[str, Meaning]


def settle(sample: Sample, known: Sequence[Sized], bounds: tuple[Floats, Floats]) -> None:
    """Take columns without a telling heading for the sizes that are missing."""
    firm = [sized for sized in known if named(sized.said.role, sized.heading)]
    missing = [kind for kind in MEANINGS if kind not in {sized.kind for sized in firm}]
    candidates = _candidates(sample, firm)
    if not missing or not candidates or len(candidates) + len(firm) < 2:
        return
    scored = sorted(_scored(candidates, firm, missing, bounds), key=lambda pair: pair[0])
    if not scored:
        return
    least, reading, words = scored[0]
    # The same columns as other sizes or in other units.
    nexts = [total for total, other, _ in scored[1:] if len(other) == len(reading) and other != reading]
    if least > FITS * (len(reading) + len(firm)) or (nexts and nexts[0] - least < CLEAR):
        return
    guessed = {sized.heading for sized in known if sized not in firm}
    if not guessed <= set(reading) or not _larger_on_larger(sample, reading):
        return
    for heading in guessed:
        sample.chosen.pop(heading, None)
    for heading, meaning in reading.items():
        evidence = f"no heading says so, but as {meaning.role} in {meaning.unit} the sizes fit each other: {words}"
        sample.chosen[heading] = Opinion(meaning.role, SURE, evidence, meaning.unit)


def _larger_on_larger(sample: Sample, reading: Reading) -> bool:
    """Whether the stems are larger on species of larger stems, or there are too few species to tell."""
    stems = [heading for heading, meaning in reading.items() if KINDS[meaning.role][0] == "stem"]
    species = sample.of("species")
    if not stems or species is None:
        return True
    close = by_species.relation(sample.column(species), sample.profile(species).names, sample.numbers(stems[0]))
    return close is None or close >= BY_SPECIES


def _candidates(sample: Sample, firm: Sequence[Sized]) -> dict[str, Floats]:
    """The columns of numbers, taken for nothing by their headings, that grow with others or with the firm sizes."""
    logs = {sized.heading: np.log(sized.values) for sized in firm}
    free: dict[str, Floats] = {}
    for profile in sample.profiles:
        opinion = sample.chosen.get(profile.heading)
        guessed = opinion is not None and opinion.role in KINDS and not named(opinion.role, profile.heading)
        if (opinion is None or guessed) and _is_size(sample, profile.heading):
            free[profile.heading] = _log(sample.numbers(profile.heading))
    found = {
        heading: values for heading, values in free.items()
        if any(_go_together(values, other) for name, other in (free | logs).items() if name != heading)
    }  # fmt: skip
    return dict(list(found.items())[:MOST])


def _is_size(sample: Sample, heading: str) -> bool:
    profile = sample.profile(heading)
    if profile.numeric < 0.95 or not VALUES <= len(profile.counts) < 0.9 * max(len(profile.cells), 1):
        return False
    known = profile.numbers[profile.numbers > 0]
    return bool(len(known) > 0.7 * len(profile.cells) and 1 < np.percentile(known, 99) < 2_000)


def _go_together(one: Floats, other: Floats) -> bool:
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < 50 or np.ptp(one[both]) == 0 or np.ptp(other[both]) == 0:
        return False
    return float(np.corrcoef(one[both], other[both])[0, 1]) > TOGETHER


def _log(values: Floats) -> Floats:
    return np.asarray(np.log(np.where(values > 0, values, math.nan)))


def _scored(
    candidates: dict[str, Floats], firm: Sequence[Sized], missing: Sequence[str], bounds: tuple[Floats, Floats]
) -> Iterator[tuple[float, Reading, str]]:
    """Every way to take as many candidates as there may be for missing sizes, with how badly the sizes fit then."""
    count = min(len(candidates), len(missing))
    for kinds in combinations(missing, count):
        for headings in permutations(candidates, count):
            pairs = zip(headings, kinds, strict=True)
            sized = [Sized(heading, np.exp(candidates[heading]), MEANINGS[kind][0]) for heading, kind in pairs]
            if not _widest_is_stem([*sized, *firm]) or not _all_together([*sized, *firm]):
                continue
            proportions = Proportions([*sized, *firm], *bounds)
            for meanings in product(*(MEANINGS[kind] for kind in kinds)):
                yield _score(proportions, dict(zip(headings, meanings, strict=True)), firm)


def _score(proportions: Proportions, reading: Reading, firm: Sequence[Sized]) -> tuple[float, Reading, str]:
    factors = {KINDS[m.role][0]: m.factor for m in (*reading.values(), *(sized.said for sized in firm))}
    fit = proportions.fit(factors)
    systems = {m.unit in US for m in (*reading.values(), *(sized.said for sized in firm))}
    return fit.total + MIXED * (len(systems) > 1), reading, ", ".join(fit.words)


def _all_together(sizes: Sequence[Sized]) -> bool:
    return all(_go_together(_log(one.values), _log(other.values)) for one, other in combinations(sizes, 2))


def _widest_is_stem(sizes: Sequence[Sized]) -> bool:
    """Stems differ more among trees than heights and crowns: these grow by less than their square root or so."""
    spread = {sized.kind: float(np.nanstd(np.log(sized.values))) for sized in sizes}
    return "stem" not in spread or all(spread["stem"] >= value for value in spread.values())
