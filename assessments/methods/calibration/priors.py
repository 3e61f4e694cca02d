"""The priors of the calibration: weak, each with its reason; all are the project's choice, none is published.

Their sizes were set so that with nothing to learn 20 dissected trees cost at most 5 % of the interval score.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from assessments.methods.section.integrals import Floats

METHOD: Final = "calibration_priors"
VERSION: Final = 1

# Order of the standard deviations everywhere in this package; from `sign` on they are those of FACTORS.
SIZES: Final = ("residual", "tree", "sign", "method", "group", "reason")


@dataclass(frozen=True)
class Priors:
    """Normal priors of intercept and slope; each standard deviation is log-normal (median, sd of its log).

    intercept: an estimate of 0.35 is right to about 0.25 to 0.47 (one sd): no direction is presumed.
    slope: estimates follow the truth one to one, give or take 0.3.
    residual: a multiplier of the stated spread; 1: stated intervals are honest, right to about a third.
    tree, sign, method, group, reason: on the logit scale; a tree differs more than what a group of trees shares.
    """

    intercept_sd: float = 0.5
    slope_mean: float = 1.0
    slope_sd: float = 0.3
    residual: tuple[float, float] = (1.0, 0.35)
    tree: tuple[float, float] = (0.20, 0.5)
    sign: tuple[float, float] = (0.15, 0.5)
    method: tuple[float, float] = (0.12, 0.5)
    group: tuple[float, float] = (0.12, 0.5)
    reason: tuple[float, float] = (0.08, 0.5)

    @property
    def log_medians(self) -> Floats:
        """Logs of the medians of the standard deviations, (6,)."""
        return np.log([getattr(self, name)[0] for name in SIZES])

    @property
    def log_sds(self) -> Floats:
        """Standard deviations of those logs, (6,)."""
        return np.array([getattr(self, name)[1] for name in SIZES], np.float64)


PRIORS: Final = Priors()
