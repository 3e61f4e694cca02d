"""Storms: who stood in them at which local gust, and a model of failures with a storm effect once there are enough.

Failures of the trees exposed are Poisson with the log mean of exposed + category + slope x log(gust / 25) + storm.
Weak priors (project's choice); the storms' own spread is averaged over a grid by Laplace's method.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from assessments.methods.calibration.normal import mixture_quantiles
from assessments.methods.section.integrals import Floats

from .at_risk import Spell

METHOD: Final = "storm_failures_poisson"
VERSION: Final = 1

REFERENCE_M_S: Final = 25.0
# Log of the chance to fail in one storm at the reference gust; exponent of the gust (its pressure has 2).
CATEGORY_PRIOR: Final = (math.log(0.003), 2.5)
SLOPE_PRIOR: Final = (3.0, 3.0)
STORM_SDS: Final = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
_STORM_SD_SCALE: Final = 1.0  # of the half-normal prior
_STEPS: Final = 60


@dataclass(frozen=True)
class Storm:
    """A storm with the largest 3-second gust at 10 m of each zone, in m/s."""

    uid: str
    day: date
    gusts_m_s: Mapping[str, float]

    def gust(self, zone: str) -> float | None:
        """The local gust maximum; of a zone without one the mean of the others, None without any."""
        if zone in self.gusts_m_s:
            return self.gusts_m_s[zone]
        return float(np.mean(list(self.gusts_m_s.values()))) if self.gusts_m_s else None


@dataclass(frozen=True)
class StormRow:
    """Trees of one category in one storm and zone: how many stood there, how many failed."""

    storm: str
    category: str
    zone: str
    gust_m_s: float | None
    exposed: int
    failures: int


@dataclass(frozen=True)
class Known:
    """A figure with its 95 % interval."""

    value: float
    low95: float
    high95: float


@dataclass(frozen=True)
class StormModel:
    """Chance to fail in one storm at a gust of 25 m/s by category, exponent of the gust, sd of the storms (log)."""

    at_reference: tuple[tuple[str, Known], ...]
    exponent: Known
    storm_sd: float
    storms: int


def exposures(spells: Sequence[Spell], storms: Sequence[Storm]) -> tuple[StormRow, ...]:
    """Count who stood in each storm: spells open on its day, and those that it ended."""
    kinds = sorted({(spell.category, spell.zone) for spell in spells})
    number = {one: place for place, one in enumerate(kinds)}
    kind = np.array([number[spell.category, spell.zone] for spell in spells], np.int64)
    start, end = (np.array([getattr(s, name).toordinal() for s in spells], np.int64) for name in ("start", "end"))
    felled_by = np.array([(spell.storm or "") if spell.ended_by == "failure" else "" for spell in spells], np.str_)
    found = []
    for storm in sorted(storms, key=lambda one: (one.day, one.uid)):
        fell, day = felled_by == storm.uid, storm.day.toordinal()
        there = fell | ((start <= day) & (day < end))
        counts = (np.bincount(kind[which], minlength=len(kinds)).tolist() for which in (there, fell))
        found += [
            StormRow(storm.uid, category, zone, storm.gust(zone), exposed, failed)
            for (category, zone), exposed, failed in zip(kinds, *counts, strict=True)
            if exposed
        ]
    return tuple(found)


def storm_model(rows: Sequence[StormRow]) -> StormModel | None:
    """Fit the model; None where no row has a gust."""
    used = [row for row in rows if row.gust_m_s]
    if not used:
        return None
    categories, storms = (sorted({getattr(row, name) for row in used}) for name in ("category", "storm"))
    design = np.zeros((len(used), len(categories) + 1 + len(storms)))
    for place, row in enumerate(used):
        design[place, categories.index(row.category)] = 1
        design[place, len(categories)] = math.log((row.gust_m_s or 1.0) / REFERENCE_M_S)
        design[place, len(categories) + 1 + storms.index(row.storm)] = 1
    counts = np.array([row.failures for row in used], np.float64)
    exposed = np.log([float(row.exposed) for row in used])
    fits = [_laplace(design, counts, exposed, len(categories), sd) for sd in STORM_SDS]
    odds = np.array([fit[2] for fit in fits])
    weight = np.exp(odds - odds.max())
    weight /= weight.sum()
    # Equal parts of a mixture, as many of each as its weight asks.
    parts = np.repeat(np.arange(len(fits)), np.maximum(np.round(400 * weight), 1).astype(int))
    mean, sd = (np.array([fits[part][which] for part in parts]) for which in (0, 1))
    ends = mixture_quantiles(mean.T, sd.T, (0.025, 0.5, 0.975))
    count = len(categories)
    return StormModel(
        tuple((name, _known(np.exp(ends[place]))) for place, name in enumerate(categories)),
        _known(ends[count]),
        float(np.array(STORM_SDS) @ weight),
        len(storms),
    )


def _known(ends: Floats) -> Known:
    low, middle, high = ends.tolist()
    return Known(middle, low, high)


def _laplace(
    design: Floats, counts: Floats, exposed: Floats, categories: int, storm_sd: float
) -> tuple[Floats, Floats, float]:
    """Mode, sds and log marginal likelihood for one sd of the storms."""
    storms = design.shape[1] - categories - 1
    mean = np.array([CATEGORY_PRIOR[0]] * categories + [SLOPE_PRIOR[0]] + [0.0] * storms)
    sd = np.array([CATEGORY_PRIOR[1]] * categories + [SLOPE_PRIOR[1]] + [storm_sd] * storms)
    at = mean.copy()
    for _ in range(_STEPS):
        expected = np.exp(np.clip(exposed + design @ at, -40, 40))
        precision = (design * expected[:, None]).T @ design + np.diag(1 / sd**2)
        step = np.linalg.solve(precision, design.T @ (counts - expected) - (at - mean) / sd**2)
        at = at + step * min(1.0, 2.0 / max(float(np.abs(step).max()), 1e-12))
        if float(np.abs(step).max()) < 1e-9:
            break
    log_mean = exposed + design @ at
    log = float((counts * log_mean - np.exp(log_mean)).sum() - 0.5 * (((at - mean) / sd) ** 2).sum())
    log -= float(np.log(sd).sum()) + 0.5 * float(np.linalg.slogdet(precision)[1])
    log -= 0.5 * (storm_sd / _STORM_SD_SCALE) ** 2 - math.log(storm_sd)  # half-normal, on a grid even in the log
    return at, np.sqrt(np.diag(np.linalg.inv(precision))), log
