"""Which columns of street and house number belong together: along one street near numbers stand near each other."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from inventory.intake.sampled import Sample
from inventory.intake.table import Floats
from inventory.intake.weigh import Opinion

# House numbers that differ by no more than this stand in one block or the next.
NEAR_NUMBER = 60
# So near to each other (m) are trees of one block and the next; a street has many blocks.
NEAR_M = 250.0
FEWEST = 30
_NUMBER = re.compile(
    r"(?:n[°o]? ?)?(\d{1,5})(?:[-/ ]*\d{1,5})?\s?(?:[a-zA-Z]|bis|ter|quater)?(?:[/-]\d+)?", re.IGNORECASE
)
_METRES = 111_195.0
# What makes one street column better than another, and a column without a telling heading a house number.
BETTER, ALONG, MORE = 0.1, 0.9, 1.3
LEAST_NUMBERS = 0.8
SURE = 0.6


def house_number(cell: str) -> int | None:
    """The number of a house number: 12, 12A, 12-14, 12 bis; None for anything else.

    >>> house_number("12 bis"), house_number("10-12"), house_number("Canton 09"), house_number("1998.5")
    (12, 10, None, None)
    """
    found = _NUMBER.fullmatch(cell.strip().removesuffix(".0"))
    return int(found[1]) if found else None


def along(streets: Sequence[str], numbers: Sequence[str], lon: Floats, lat: Floats) -> tuple[float, int]:
    """The share of pairs with near numbers in one street that stand near each other, and how many pairs there are."""
    rows = [
        (street.strip().casefold(), number, row)
        for row, (street, cell) in enumerate(zip(streets, numbers, strict=True))
        if street.strip() and (number := house_number(cell)) and np.isfinite(lon[row]) and np.isfinite(lat[row])
    ]
    rows.sort()
    near = pairs = 0
    for (street, number, row), (another, next_number, other) in pairwise(rows):
        if street == another and 0 < next_number - number <= NEAR_NUMBER:
            pairs += 1
            east = (lon[row] - lon[other]) * np.cos(np.radians(lat[row]))
            near += bool(np.hypot(east, lat[row] - lat[other]) * _METRES <= NEAR_M)
    return (near / pairs if pairs else 0.0), pairs


def settle(sample: Sample) -> None:
    """Take the street that the house numbers run along, and find numbers that run along the street."""
    where = sample.where()
    if where is None:
        return
    number, street = sample.of("number"), sample.of("street")
    if number:
        _street_of(sample, number, *where)
    elif street and not sample.of("address"):
        _number_of(sample, street, *where)


def _street_of(sample: Sample, number: str, lon: Floats, lat: Floats) -> None:
    rivals = [
        heading for heading, found in sample.opinions_of.items()
        if any(opinion.role == "street" and opinion.confidence > 0.5 for opinion in found)
        and sample.chosen.get(heading, found[0]).role == "street"
    ]  # fmt: skip
    if len(rivals) < 2:
        return
    numbers = sample.column(number)
    shares = {heading: along(sample.column(heading), numbers, lon, lat) for heading in rivals}
    best = max(rivals, key=lambda heading: shares[heading][0])
    taken = sample.of("street")
    if shares[best][1] < FEWEST or best == taken:
        return
    if taken and shares[best][0] < shares[taken][0] + BETTER:
        return
    opinion = next(opinion for opinion in sample.opinions_of[best] if opinion.role == "street")
    why = f"of near numbers of {number!r} in one street {shares[best][0]:.1%} stand near each other"
    if taken:
        why += f", with {taken!r} {shares[taken][0]:.1%}"
        del sample.chosen[taken]
    sample.chosen[best] = replace(opinion, confidence=0.9, evidence=f"{opinion.evidence}; {why}")


def _number_of(sample: Sample, street: str, lon: Floats, lat: Floats) -> None:
    """The column whose numbers run along the street, far better than the same numbers dealt out anew would."""
    streets, best = sample.column(street), (0.0, "")
    for heading in sample.free():
        profile, cells = sample.profile(heading), sample.column(heading)
        if profile.share(house_number) < LEAST_NUMBERS or profile.key_unique > 0.9 or len(profile.counts) < 10:
            continue
        share, pairs = along(streets, cells, lon, lat)
        dealt, _ = along(streets, np.random.default_rng(1).permutation(cells).tolist(), lon, lat)
        if pairs >= FEWEST and share >= max(ALONG, MORE * dealt, best[0]):
            best = share, heading
    if best[1]:
        why = f"near numbers in one street of {street!r} stand near each other ({best[0]:.1%} of the pairs)"
        sample.chosen[best[1]] = Opinion("number", SURE, f"no heading says so, but {why}")
