"""Failures a tree-year by likelihood category, with intervals that take storms, not trees, as what varies.

Until there are 50 failures in 5 storms or more, nothing finer than the category is reported. Blocks of the bootstrap:
each storm, and the calm of each calendar year; where few failed, the exact Poisson interval is kept if it is wider.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.risk import FAILURE
from assessments.methods.section.integrals import Floats

from .at_risk import DAYS_A_YEAR, FAILED, Rows, Spells
from .storms import Storm, StormModel, StormRow, exposures, storm_model

METHOD: Final = "failures_by_category_storm_bootstrap"
VERSION: Final = 2

LEAST_FAILURES: Final = 50
LEAST_STORMS: Final = 5
RESAMPLES: Final = 2000
SEED: Final = 50505
_EPOCH: Final = date(1970, 1, 1).toordinal()
_LOGS: Final = np.linspace(-25.0, 12.0, 37_001)
NOTES: Final = (
    "Time counts from a rating, by its worst likelihood of failure, to the first failure, treatment, removal, change of"
    " target or new rating.",
    "Storms vary far more than trees do: few storms tell little, however many trees stood in them.",
)


@dataclass(frozen=True)
class Rate:
    """Failures a tree-year of one category, with the 95 % interval."""

    category: str
    trees: int
    tree_years: float
    failures: int
    storms: int  # storms with a failure of this category
    rate: float | None
    low95: float | None
    high95: float | None


@dataclass(frozen=True)
class Outcomes:
    """What became of the rated trees. `model` is there once there are enough failures and storms."""

    rates: tuple[Rate, ...]
    failures: int
    storms_with_failures: int
    storms: tuple[StormRow, ...]
    model: StormModel | None
    notes: tuple[str, ...]


def report(spells: Spells, storms: Sequence[Storm], until: date) -> Outcomes:
    """Report outcomes up to a day; storms without any failure belong in as well.

    >>> from .at_risk import spells
    >>> report(spells([], [], date(2026, 1, 1)), [], date(2026, 1, 1)).failures
    0
    """
    failed = spells.rows[spells.rows["by"] == FAILED]
    with_failures = len(set(failed["storm"].tolist()) - {0})
    happened = [storm for storm in storms if storm.day <= until]
    rows = exposures(spells, happened)
    ready = len(failed) >= LEAST_FAILURES and with_failures >= LEAST_STORMS
    waiting = () if ready else (_waiting(len(failed), with_failures),)
    return Outcomes(
        tuple(_rates(spells, failed, happened)),
        len(failed),
        with_failures,
        rows,
        storm_model(rows) if ready else None,
        (*waiting, *NOTES),
    )


def _waiting(failures: int, storms: int) -> str:
    counted = f"{failures} failure{'s' * (failures != 1)} in {storms} storm{'s' * (storms != 1)}"
    return (
        f"By category only: {counted}; a model of storms and gusts needs {LEAST_FAILURES} failures in {LEAST_STORMS}"
        " storms."
    )


def _rates(spells: Spells, failed: Rows, storms: Sequence[Storm]) -> list[Rate]:
    rng = np.random.default_rng(SEED)
    names = [
        *dict.fromkeys([storm.uid for storm in storms] + [spells.storms[n] for n in sorted({*failed["storm"]} - {0})])
    ]
    block = np.array([names.index(name) if name in names else -1 for name in spells.storms])[failed["storm"]]
    started, ended = (_years(spells.rows[name]) for name in ("start", "end"))
    first = int(started.min(initial=9999))
    calm = max(int(ended.max(initial=first - 1)) - first + 1, 0)
    picks = [_picks(rng, count) for count in (len(names), calm)]
    found = []
    for place, category in enumerate(FAILURE, 1):
        own, lost = spells.rows[spells.rows["category"] == place], failed["category"] == place
        in_storm = np.bincount(block[lost & (block >= 0)], minlength=len(names))
        in_calm = np.bincount(_years(failed["end"][lost & (block < 0)]) - first, minlength=calm)
        drawn = picks[0] @ in_storm.astype(float) + picks[1] @ in_calm.astype(float)
        found.append(_rate(category, own, failed["storm"][lost], drawn))
    return found


def _years(days: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    """The calendar year of days that are counted as date.toordinal() does."""
    return (days - _EPOCH).astype("datetime64[D]").astype("datetime64[Y]").astype(np.int64) + 1970


def _picks(rng: np.random.Generator, count: int) -> Floats:
    """How often each of `count` blocks is taken in each resample."""
    if not count:
        return np.zeros((RESAMPLES, 0))
    return np.asarray(rng.multinomial(count, np.full(count, 1 / count), RESAMPLES), np.float64)


def _rate(category: str, own: Rows, lost: npt.NDArray[np.int32], drawn: Floats) -> Rate:
    years = float((own["end"].astype(np.int64) - own["start"]).sum()) / DAYS_A_YEAR
    trees, hit, count = _trees(own), len(set(lost.tolist()) - {0}), len(lost)
    if years <= 0:
        return Rate(category, trees, 0.0, count, hit, None, None, None)
    low, high = np.quantile(drawn, (0.025, 0.975)).tolist()
    exact_low, exact_high = poisson_interval(count)
    return Rate(
        category, trees, years, count, hit, count / years, min(low, exact_low) / years, max(high, exact_high) / years
    )


def _trees(own: Rows) -> int:
    """How many trees: their spells stand together."""
    return int(np.count_nonzero(np.diff(own["tree"]))) + bool(len(own))


def poisson_interval(count: int) -> tuple[float, float]:
    """Give the exact 95 % interval of a Poisson mean from one count (Garwood 1936).

    >>> [round(end, 2) for end in poisson_interval(0)], [round(end, 2) for end in poisson_interval(10)]
    ([0.0, 3.69], [4.8, 18.39])
    """
    low = 0.0 if count == 0 else _gamma_quantile(float(count), 0.025)
    return low, _gamma_quantile(count + 1.0, 0.975)


def _gamma_quantile(shape: float, level: float) -> float:
    """Quantile of a gamma distribution of unit scale, integrated over the logarithm."""
    log = shape * _LOGS - np.exp(_LOGS)
    mass = np.exp(log - log.max())
    rising = np.cumsum(mass) - mass / 2
    return float(np.exp(np.interp(level * mass.sum(), rising, _LOGS)))
