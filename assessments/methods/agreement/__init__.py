"""Agreement of assessors with each other and with opened stems: kappa, proper scores, each one's own record."""

from .kappa import Kappa, fleiss, kappa, kappa_of
from .record import METHOD, VERSION, Agreement, Judged, Rated, Record, agreement, records
from .scores import Brier, brier, interval_score, wilson

__all__ = [
    "METHOD", "VERSION", "Agreement", "Brier", "Judged", "Kappa", "Rated", "Record", "agreement", "brier", "fleiss",
    "interval_score", "kappa", "kappa_of", "records", "wilson",
]  # fmt: skip
