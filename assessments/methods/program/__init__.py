"""The yearly program: which tree gets which work in which quarter, for the money and crews there are; gap proven."""

from .problem import Columns, Limits, Program, Zones
from .solve import METHOD, VERSION, Effort, Plan, StopEarly, solve

__all__ = ["METHOD", "VERSION", "Columns", "Effort", "Limits", "Plan", "Program", "StopEarly", "Zones", "solve"]
