"""Scores of stated chances and intervals: Brier score with its parts, log loss, interval score, coverage."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.section.integrals import Floats

METHOD: Final = "proper_scores"
VERSION: Final = 1

_CLIP: Final = 1e-6
_Z95: Final = 1.959964


@dataclass(frozen=True)
class Brier:
    """Brier score = reliability - resolution + uncertainty (Murphy 1973), exact: one group a stated chance.

    `skill` is against the base rate; None where nothing or everything happened.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    skill: float | None
    log_loss: float
    count: int


def brier(chances: npt.ArrayLike, happened: npt.ArrayLike) -> Brier:
    """Score stated chances (n,) against what happened (n,). Raises ValueError for none, or a chance outside 0 to 1.

    >>> brier([1.0, 0.0], [True, True]).score
    0.5
    """
    p, o = np.asarray(chances, np.float64).ravel(), np.asarray(happened, np.float64).ravel()
    if p.shape != o.shape or not p.size:
        raise ValueError("chances, happened: must be of one length and not empty")
    if not ((p >= 0) & (p <= 1)).all() or not np.isin(o, (0.0, 1.0)).all():
        raise ValueError("chances: must be 0 to 1; happened: true or false")
    stated, group = np.unique(p, return_inverse=True)
    count = np.bincount(group)
    seen, base = np.bincount(group, o) / count, float(o.mean())
    score, uncertainty = float(((p - o) ** 2).mean()), base * (1 - base)
    clipped = np.clip(p, _CLIP, 1 - _CLIP)
    return Brier(
        score,
        float((count * (stated - seen) ** 2).sum() / p.size),
        float((count * (seen - base) ** 2).sum() / p.size),
        uncertainty,
        1 - score / uncertainty if uncertainty > 0 else None,
        -float((o * np.log(clipped) + (1 - o) * np.log(1 - clipped)).mean()),
        p.size,
    )


def interval_score(low: npt.ArrayLike, high: npt.ArrayLike, value: npt.ArrayLike, share: float) -> Floats:
    """Score intervals that are stated to hold `share` (Gneiting & Raftery 2007): width, and what they miss by.

    >>> interval_score(0.2, 0.4, [0.3, 0.5], 0.8).round(9).tolist()
    [0.2, 1.2]
    """
    if not 0 < share < 1:
        raise ValueError("share: must lie between 0 and 1")
    ends = np.asarray(low, np.float64), np.asarray(high, np.float64)
    x, times = np.asarray(value, np.float64), 2 / (1 - share)
    return np.asarray(ends[1] - ends[0] + times * (np.maximum(ends[0] - x, 0) + np.maximum(x - ends[1], 0)))


def wilson(yes: float, count: float) -> tuple[float, float]:
    """Give the 95 % interval of a share (Wilson 1927); 0 to 1 of nothing.

    >>> [round(end, 3) for end in wilson(10, 100)]
    [0.055, 0.174]
    """
    if count <= 0:
        return 0.0, 1.0
    share, z2 = yes / count, _Z95**2
    middle = (share + z2 / (2 * count)) / (1 + z2 / count)
    half = _Z95 / (1 + z2 / count) * math.sqrt(share * (1 - share) / count + z2 / (4 * count**2))
    return max(middle - half, 0.0), min(middle + half, 1.0)
