"""What calibration learns from: a row a cut, the sound-wall fraction estimated before and found after, as logits.

The sound-wall fraction is the thinnest sound wall over the stem's radius there, without bark (t/R).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.problems import MethodProblem
from assessments.methods.section.integrals import Floats

METHOD: Final = "sound_wall_logit_rows"
VERSION: Final = 1

REASONS: Final = ("predicted_weakness", "storm_failure", "construction", "utility", "pest", "random_sample")
# Opened because they failed: selected on the truth itself.
NEVER_POOLED: Final = ("storm_failure",)
# Opened for reasons that know nothing of the stem's inside.
UNRELATED: Final = ("construction", "utility", "random_sample")
# At or above it a section counts as wholly sound: then presence is asked for, not thickness. Project's choice.
SOUND_FRACTION: Final = 0.98
# Thinner walls count as this: as good as open, and the logit of nothing has no end. Project's choice.
LEAST_FRACTION: Final = 0.05
# Standard deviation on the logit scale where an estimate states no interval: project's choice, 0.22 to 0.50 about 0.35.
UNSTATED_SPREAD: Final = 0.5
LEAST_SPREAD: Final = 0.05
LARGEST_SPREAD: Final = 2.0
FACTORS: Final = ("sign", "method", "group", "reason")
# Effects are counted from this fraction, where the published thresholds lie: the intercept is the bias there.
CENTRE_FRACTION: Final = 0.35


@dataclass(frozen=True)
class Row:
    """One cut of one felled tree. Fractions 0 to 1; `spread`: standard deviation of the estimate's logit as stated.

    `estimated` is 1 where nothing was suspected, None where a hollow was suspected without a figure (presence only).

    `sign`: the leading outside sign near the cut, "none" without one; `method`: how the wall was estimated; `group`:
    species group. Raises MethodProblem for a fraction or a spread out of range, or an unknown reason.
    """

    tree: str
    estimated: float | None
    found: float
    reason: str
    sign: str = "none"
    method: str = "unknown"
    group: str = "unknown"
    spread: float = UNSTATED_SPREAD

    def __post_init__(self) -> None:
        for name in ("estimated", "found"):
            value = getattr(self, name)
            if value is not None and not 0 <= value <= 1:
                raise MethodProblem(f"/{name}", "must be 0 to 1")
        if not LEAST_SPREAD <= self.spread <= LARGEST_SPREAD:
            raise MethodProblem("/spread", f"must be {LEAST_SPREAD:g} to {LARGEST_SPREAD:g}")
        if self.reason not in REASONS:
            raise MethodProblem("/reason", f"must be one of {', '.join(REASONS)}")

    @property
    def predicted_hollow(self) -> bool:
        """Whether a defect inside was estimated."""
        return self.estimated is None or self.estimated < SOUND_FRACTION

    @property
    def found_hollow(self) -> bool:
        """Whether a defect inside was found."""
        return self.found < SOUND_FRACTION


@dataclass(frozen=True)
class Pair:
    """A row with both figures, of a section hollow before and after: what the regression uses."""

    row: Row
    estimated: float

    @property
    def error(self) -> float:
        """Logit found less logit estimated."""
        return float(logit(self.row.found) - logit(self.estimated))


def pairs(rows: Sequence[Row]) -> list[Pair]:
    """Give the rows that the regression can use."""
    return [
        Pair(row, row.estimated)
        for row in rows
        if row.estimated is not None and row.predicted_hollow and row.found_hollow
    ]


def logit(fraction: npt.ArrayLike) -> Floats:
    """Give log(f / (1 - f)), with f held within 0.05 to 0.98.

    >>> float(logit(0.5)), round(float(logit(0.0)), 3)
    (0.0, -2.944)
    """
    f = np.clip(np.asarray(fraction, np.float64), LEAST_FRACTION, SOUND_FRACTION)
    return np.asarray(np.log(f / (1 - f)))


def fraction(logits: npt.ArrayLike) -> Floats:
    """Give the fraction of a logit.

    >>> round(float(fraction(logit(0.3))), 9)
    0.3
    """
    return np.asarray(1 / (1 + np.exp(-np.asarray(logits, np.float64))))


CENTRE: Final = float(logit(CENTRE_FRACTION))


def spread_of(low: float, high: float, share: float = 0.8) -> float:
    """Give the logit standard deviation of an interval that is stated to hold a share of 0.8 or 0.95, within bounds.

    >>> round(spread_of(0.25, 0.45), 3)
    0.35
    """
    width = float(logit(high) - logit(low))
    return float(np.clip(width / (2 * {0.8: 1.2815516, 0.95: 1.9599640}[share]), LEAST_SPREAD, LARGEST_SPREAD))
