"""Expected harm a year from the words of ratings, people and property apart, under three maps.

No numeric scale for the words is published: `tables/word_ranges.csv` is the project's choice, held to the
published frequencies of failures and deaths within a factor of 3. It orders work; it forecasts no tree.
"""

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from . import tables
from .risk import CONSEQUENCES, FAILURE, IMMINENT, IMPACT, code

METHOD: Final = "harm_word_ranges"
VERSION: Final = 1

MAPS: Final = ("low", "central", "high")
MAX_FRAME_YEARS: Final = 5
# Money units that weigh as much as one death when one figure is needed: the project's choice, of the order of
# the values used in transport appraisal. Whoever chooses by it varies it tenfold both ways.
MONEY_PER_DEATH: Final = 5_000_000.0

Numbers: TypeAlias = npt.NDArray[np.float64]
_WORDS: Final = {
    "failure": FAILURE,
    "impact": IMPACT,
    "deaths": CONSEQUENCES,
    "cost": CONSEQUENCES,
}


def _ranges() -> dict[str, Numbers]:
    """Read the map as one (3, 5) array a quantity: low, central, high by code; code 0 is 0."""
    arrays = {quantity: np.zeros((len(MAPS), 5)) for quantity in _WORDS}
    for row in tables.read("word_ranges"):
        column = code(_WORDS[row["quantity"]], row["word"])
        arrays[row["quantity"]][:, column] = [float(row[name]) for name in MAPS]
    return arrays


RANGES: Final = _ranges()


def chance_a_year(chance_in_frame: npt.ArrayLike, frame_years: npt.ArrayLike) -> Numbers:
    """Turn the chance within a frame of T years into that of one year: 1 - (1 - p)^(1/T).

    Raises ValueError for a frame outside 1 to 5 years.

    >>> round(float(chance_a_year(0.0297010, 3)), 6)
    0.01
    """
    years = np.asarray(frame_years, np.float64)
    if years.size and not (years.min() >= 1 and years.max() <= MAX_FRAME_YEARS):
        raise ValueError(f"frame_years: must be 1 to {MAX_FRAME_YEARS}")
    return np.asarray(1.0 - (1.0 - np.asarray(chance_in_frame, np.float64)) ** (1.0 / years))


def _chances_by_frame() -> Numbers:
    """Tabulate the chance a year as a (3, 5, 6) array: map, failure code, frame in years (0 unused)."""
    table = np.zeros((len(MAPS), 5, MAX_FRAME_YEARS + 1))
    for years in range(1, MAX_FRAME_YEARS + 1):
        table[:, :, years] = chance_a_year(RANGES["failure"], years)
    # Imminent overrides the stated frame: failure has begun.
    table[:, IMMINENT, 1:] = RANGES["failure"][:, IMMINENT, None]
    return table


_CHANCES: Final = _chances_by_frame()


def failure_chance_codes(failure: npt.ArrayLike, frame_years: npt.ArrayLike, which: str = "central") -> Numbers:
    """Give the chance of failure a year for failure codes and whole frames of 1 to 5 years, of one shape.

    Raises ValueError for a frame outside 1 to 5 years, IndexError for a code outside 0 to 4.

    >>> failure_chance_codes([0, 4], [3, 3]).tolist()
    [0.0, 0.707]
    """
    years = np.asarray(frame_years)
    if years.size and not 1 <= years.min() <= years.max() <= MAX_FRAME_YEARS:
        raise ValueError(f"frame_years: must be 1 to {MAX_FRAME_YEARS}")
    return np.asarray(_CHANCES[MAPS.index(which)][np.asarray(failure), years])


def _given_failure(which: str) -> Numbers:
    """Tabulate the harm given failure as a (5, 5, 2) array by impact, consequences, property or people."""
    place = MAPS.index(which)
    money = RANGES["cost"][place] / MONEY_PER_DEATH
    per_strike = np.stack([money, RANGES["deaths"][place]], axis=-1)
    return np.asarray(RANGES["impact"][place][:, None, None] * per_strike[None, :, :])


_GIVEN_FAILURE: Final = {which: _given_failure(which) for which in MAPS}


def harm_codes(
    failure: npt.ArrayLike,
    impact: npt.ArrayLike,
    consequences: npt.ArrayLike,
    frame_years: npt.ArrayLike,
    people: npt.ArrayLike,
    which: str = "central",
) -> Numbers:
    """Give the harm of each rating, expected deaths a year; property converted at MONEY_PER_DEATH.

    All arrays of one shape: codes 0 to 4, whole years, `people` 0 or 1. An unknown (0) gives 0 harm.
    """
    given = _GIVEN_FAILURE[which][np.asarray(impact), np.asarray(consequences), np.asarray(people, np.uint8)]
    return np.asarray(failure_chance_codes(failure, frame_years, which) * given)


@dataclass(frozen=True)
class RatedTarget:
    """One rating of a part and a target, in words, as made for a frame of 1 to 5 years."""

    failure: str
    impact: str
    consequences: str
    frame_years: int
    people: bool  # people or vehicles with people; otherwise property


@dataclass(frozen=True)
class Harm:
    """Expected harm a year under one map: `deaths` to people, `cost` to property (money), and both as one."""

    which: str
    deaths: float
    cost: float

    @property
    def combined(self) -> float:
        """Expected deaths a year with the cost converted at MONEY_PER_DEATH."""
        return self.deaths + self.cost / MONEY_PER_DEATH


def tree_harm(ratings: tuple[RatedTarget, ...]) -> tuple[Harm, Harm, Harm]:
    """Sum the harm of a tree over its parts and targets, under the low, central and high map.

    >>> [h.which for h in tree_harm(())]
    ['low', 'central', 'high']
    """
    return _sum(ratings, "low"), _sum(ratings, "central"), _sum(ratings, "high")


def _sum(ratings: tuple[RatedTarget, ...], which: str) -> Harm:
    totals: dict[bool, float] = {True: 0.0, False: 0.0}
    for rating in ratings:
        totals[rating.people] += float(
            harm_codes(
                code(FAILURE, rating.failure),
                code(IMPACT, rating.impact),
                code(CONSEQUENCES, rating.consequences),
                rating.frame_years,
                rating.people,
                which,
            )
        )
    return Harm(which, deaths=totals[True], cost=totals[False] * MONEY_PER_DEATH)
