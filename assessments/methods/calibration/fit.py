"""Fits the calibration to dissected cuts: truth regressed on estimate, with shrunken effects and a tree effect.

Never truth over estimate: only trees judged bad are opened, so a ratio turns its sign. Selection on the estimate does
not disturb the regression; selection on the truth does, so storm failures are listed and never pooled.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from assessments.methods.section.integrals import Floats

from .normal import mixture_quantiles
from .posterior import Model, Points, solve
from .presence import Presence, presence
from .priors import PRIORS, Priors
from .rows import CENTRE, FACTORS, NEVER_POOLED, REASONS, Row, logit, pairs
from .sums import sums, together

METHOD: Final = "truth_on_estimate_hierarchical"
VERSION: Final = 1

# Fewer dissected trees correct nothing: project's choice.
LEAST_TREES: Final = 5
FIXED: Final = ("intercept", "slope")
NOTES: Final = (
    "Calibration changes suggestions only; a decided rating stays.",
    "A section found or estimated wholly sound is counted under presence, not under thickness.",
    "Priors are the project's choice: see the priors of the calibration.",
)


@dataclass(frozen=True)
class Effect:
    """Posterior of one coefficient on the logit scale. intercept: bias at a fraction of 0.35; slope: 1 is no change."""

    factor: str  # intercept, slope or one of FACTORS
    level: str
    cuts: int
    trees: int
    mean: float
    low95: float
    high95: float


@dataclass(frozen=True)
class Stratum:
    """Dissections by reason for removal; errors of the logit (found less estimated), each tree counted once."""

    reason: str
    trees: int
    cuts: int
    pooled: bool
    mean_error: float | None
    sd_error: float | None


@dataclass(frozen=True)
class Calibration:
    """What the dissected trees taught. `trees`, `cuts`: of the regression; `lowest`, `highest`: estimates opened."""

    trees: int
    cuts: int
    lowest: float
    highest: float
    levels: tuple[tuple[str, ...], ...]  # of each of FACTORS
    points: Points
    effects: tuple[Effect, ...]
    strata: tuple[Stratum, ...]
    presence: Presence
    notes: tuple[str, ...]
    method: str = METHOD
    version: int = VERSION

    @property
    def enough(self) -> bool:
        """Whether there are enough trees to correct anything."""
        return self.trees >= LEAST_TREES


def fit(rows: Sequence[Row], priors: Priors = PRIORS) -> Calibration:
    """Fit to all rows there are, of every reason; also to none.

    >>> fit([Row("a", 0.3, 0.4, "random_sample")]).enough
    False
    """
    pooled = pairs([row for row in rows if row.reason not in NEVER_POOLED])
    used = [pair.row for pair in pooled]
    levels = tuple(tuple(sorted({getattr(row, name) for row in used})) for name in FACTORS)
    factor = np.array([0, 1, *(2 + i for i, names in enumerate(levels) for _ in names)], np.int64)
    estimates = [pair.estimated for pair in pooled]
    x = logit(estimates) - CENTRE
    y = logit([row.found for row in used]) - CENTRE - priors.slope_mean * x
    number = {tree: place for place, tree in enumerate(dict.fromkeys(row.tree for row in used))}
    tree = np.array([number[row.tree] for row in used], np.int64)
    design = np.array([columns(row.sign, row.method, row.group, row.reason, levels) for row in used])
    design = design.reshape(len(used), len(factor))
    design[:, 1] = x
    spread = np.array([row.spread for row in used])
    points = solve(Model(together([sums(design, y, spread, tree)]), factor, priors))
    single = Points(points.sizes[0], points.mean[0], points.covariance[0], points.effective_draws[0])
    return Calibration(
        len(number), len(used), min(estimates, default=0.0), max(estimates, default=0.0), levels, single,
        _effects(used, levels, single, priors), _strata(rows), presence(rows), _notes(rows, used),
    )  # fmt: skip


def columns(sign: str, method: str, group: str, reason: str | None, levels: Sequence[Sequence[str]]) -> list[float]:
    """Make a row of the design, its estimate left 0: 1 for the intercept and for each level that is known."""
    given = (sign, method, group, reason)
    return [1.0, 0.0, *(float(name == one) for one, names in zip(given, levels, strict=True) for name in names)]


def _effects(
    rows: Sequence[Row], levels: Sequence[Sequence[str]], points: Points, priors: Priors
) -> tuple[Effect, ...]:
    sd = np.sqrt(np.diagonal(points.covariance, axis1=-2, axis2=-1))
    ends = mixture_quantiles(points.mean.T, sd.T, (0.025, 0.975))
    ends[1] += priors.slope_mean
    mean: Floats = points.mean.mean(0)
    mean[1] += priors.slope_mean
    names = [
        *((name, "") for name in FIXED),
        *((f, level) for f, of in zip(FACTORS, levels, strict=True) for level in of),
    ]
    found = []
    for (name, level), middle, (low, high) in zip(names, mean.tolist(), ends.tolist(), strict=True):
        seen = [row for row in rows if not level or getattr(row, name) == level]
        found.append(Effect(name, level, len(seen), len({row.tree for row in seen}), middle, low, high))
    return tuple(found)


def _strata(rows: Sequence[Row]) -> tuple[Stratum, ...]:
    found = []
    for reason in REASONS:
        seen = [row for row in rows if row.reason == reason]
        errors: dict[str, list[float]] = {}
        for pair in pairs(seen):
            errors.setdefault(pair.row.tree, []).append(pair.error)
        means = [sum(of) / len(of) for of in errors.values()]
        mean = float(np.mean(means)) if means else None
        sd = float(np.std(means, ddof=1)) if len(means) > 1 else None
        trees = len({row.tree for row in seen})
        found.append(Stratum(reason, trees, len(seen), reason not in NEVER_POOLED, mean, sd))
    return tuple(found)


def _notes(rows: Sequence[Row], used: Sequence[Row]) -> tuple[str, ...]:
    found = []
    trees = len({row.tree for row in used})
    if trees < LEAST_TREES:
        found.append(f"Only {trees} dissected trees: nothing is corrected below {LEAST_TREES}.")
    if used and all(row.reason == "predicted_weakness" for row in used):
        found.append("Only trees judged weak were opened: a random sample of other removals would make this surer.")
    storms = len({row.tree for row in rows if row.reason in NEVER_POOLED})
    if storms:
        found.append(f"{storms} storm failures are listed but not pooled: they were selected by having failed.")
    return (*found, *NOTES)
