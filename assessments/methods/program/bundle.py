"""The bound as the upper envelope of its slopes, zone by zone: where between two prices it may be lowest.

Cutting planes in a box, after Kelley (1960); one envelope a zone, as the bound is a sum over zones.
"""

from typing import Any, Final

import highspy
import numpy as np

from .prices import Prices, Reply, by_zone
from .problem import Floats, Program

OLDEST: Final = 40
"""So many last slopes are kept."""


class Slopes:
    """What replies told: by zone its value and what it uses of each shared limit."""

    def __init__(self, program: Program) -> None:
        self.program = program
        limits = program.limits
        self.there = np.concatenate([limits.money, limits.hours, -limits.least])
        self.cuts: list[tuple[Floats, Floats]] = []

    def add(self, prices: Prices, answer: Reply) -> None:
        """Keep a reply: its bound is sum over zones (fixed - uses x price) + there x price."""
        benefit, uses = by_zone(self.program, answer)
        # What is given to the limits by no column at all, as on minima, is in `there`.
        self.cuts.append((benefit, uses))
        self.cuts = self.cuts[-OLDEST:]

    def lowest(self, low: Floats, high: Floats) -> tuple[float, Prices]:
        """The lowest point of the envelope between two prices, and its height: the bound is nowhere lower there."""
        zones, count = len(self.program.zones.cost), len(low)
        benefit = np.concatenate([each for each, _ in self.cuts])
        uses = np.concatenate([each for _, each in self.cuts])
        rows, scale = len(benefit), max(float(np.abs(benefit).max(initial=0.0)), 1e-300) / 1e3
        unit = np.maximum(high, 1e-300)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = count + zones, rows
        # Prices in units of their upper end; heights of the zones in thousandths of the largest.
        lp.col_cost_ = np.r_[self.there * unit / scale, np.ones(zones)]
        lp.col_lower_, lp.col_upper_ = (
            np.r_[low / unit, np.full(zones, -np.inf)],
            np.r_[high / unit, np.full(zones, np.inf)],
        )
        lp.row_lower_, lp.row_upper_ = benefit / scale, np.full(rows, np.inf)
        zone = np.tile(np.arange(zones), len(self.cuts))
        values = np.c_[uses * unit / scale, np.ones(rows)]
        index = np.c_[np.tile(np.arange(count), (rows, 1)), count + zone]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = (np.arange(rows + 1) * (count + 1)).astype(np.int32)
        lp.a_matrix_.index_, lp.a_matrix_.value_ = index.ravel().astype(np.int32), values.ravel()
        solver: Any = highspy.Highs()  # type: ignore[no-untyped-call] # the library has no types here
        for name, value in {"output_flag": False, "log_to_console": False, "threads": 1}.items():
            solver.setOptionValue(name, value)
        solver.passModel(lp)
        solver.run()
        solution = np.asarray(solver.getSolution().col_value)
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal or len(solution) < count:
            return np.inf, Prices.of(high, self.program)
        return float(solver.getInfo().objective_function_value) * scale, Prices.of(
            solution[:count] * unit, self.program
        )
