"""Decay over time: two regimes, contained and breached, mixed by what was seen and measured, as a band over years.

Advice to a qualified person. Nearly every rate here is the project's choice: none could be established as published.
"""

from .answer import METHOD, ROOT_COLLAR, VERSION, Answer, as_json, assess, compute
from .contract import Measured, Request, read

__all__ = ["METHOD", "ROOT_COLLAR", "VERSION", "Answer", "Measured", "Request", "as_json", "assess", "compute", "read"]
