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
from assessments.methods.risk import FAILURE
from assessments.methods.section.integrals import Floats

from .at_risk import FAILED, Spells

METHOD: Final = "storm_failures_poisson"
VERSION: Final = 2

REFERENCE_M_S: Final = 25.0
# Log of the chance to fail in one storm at the reference gust; exponent of the gust (its pressure has 2).
CATEGORY_PRIOR: Final = (math.log(0.003), 2.5)
SLOPE_PRIOR: Final = (3.0, 3.0)
STORM_SDS: Final = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
_STORM_SD_SCALE: Final = 1.0  # of the half-normal prior
_STEPS: Final = 60


@dataclass(frozen=True)
class Storm:
    """A storm with the largest 3-second gust at 10 m of each zone and of the city, in m/s."""

    uid: str
    day: date
    gusts_m_s: Mapping[str, float]
    city_m_s: float | None = None

    def gust(self, zone: str) -> float | None:
        """The local gust maximum; of a zone without one the city's, else the mean of the others, None without any."""
        if zone in self.gusts_m_s:
            return self.gusts_m_s[zone]
        if self.city_m_s is not None:
            return self.city_m_s
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


def exposures(spells: Spells, storms: Sequence[Storm]) -> tuple[StormRow, ...]:
    """Count who stood in each storm: spells open on its day, and those that it ended."""
    rows = spells.rows
    width = len(FAILURE) + 1
    kinds = len(spells.zones) * width
    kind = rows["zone"].astype(np.int64) * width + rows["category"]
    named = {name: place for place, name in enumerate(spells.storms)}
    found = []
    for storm in sorted(storms, key=lambda one: (one.day, one.uid)):
        day = storm.day.toordinal()
        fell = (rows["by"] == FAILED) & (rows["storm"] == named.get(storm.uid, -1))
        there = fell | ((rows["start"] <= day) & (day < rows["end"]))
        exposed, failed = (np.bincount(kind[which], minlength=kinds) for which in (there, fell))
        told = [
            StormRow(
                storm.uid, FAILURE[place % width - 1], zone, storm.gust(zone), int(exposed[place]), int(failed[place])
            )
            for place in np.flatnonzero(exposed).tolist()
            for zone in (spells.zones[place // width],)
        ]
        found += sorted(told, key=lambda one: (one.category, one.zone))
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
