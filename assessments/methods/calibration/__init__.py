"""Calibration by dissected trees: later estimates corrected by what was found, with honest intervals.

`fit(rows)` learns, `correct(calibration, estimate)` corrects, `as_json` and `from_json` store. Pure and deterministic.
"""

from .correct import Corrected, Estimate, Figure, correct, correct_all, corrected_loss
from .fit import LEAST_TREES, METHOD, VERSION, Calibration, Effect, Stratum, fit
from .presence import Presence, Share, presence
from .rows import NEVER_POOLED, REASONS, UNRELATED, Row, spread_of
from .stored import as_json, from_json

__all__ = [
    "LEAST_TREES", "METHOD", "NEVER_POOLED", "REASONS", "UNRELATED", "VERSION", "Calibration", "Corrected", "Effect",
    "Estimate", "Figure", "Presence", "Row", "Share", "Stratum", "as_json", "correct", "correct_all", "corrected_loss",
    "fit", "from_json", "presence", "spread_of",
]  # fmt: skip
