"""Calibration on invented stems instead of numbers: cavities are read at a few azimuths, then the stems are opened.

Nothing here is Gaussian, linear or of the calibration's own making: what is learnt is how readings miss thin places.
"""

from typing import Any, Final

import numpy as np
from numpy.random import Generator

from assessments.methods.agreement import interval_score
from assessments.methods.calibration import Estimate, Figure, Row, correct_all, fit, spread_of
from assessments.methods.section import Reading, Section, circle
from assessments.methods.truth.predicted import wall_interval
from deploy.bench import cavities

READINGS: Final = 8
CUTS: Final = 2
ERROR: Final = 0.02  # of the radius, standard deviation of a reading
Opened = tuple[Row, Figure]


def stems(family: str, trees: int, rng: Generator, first: int = 0) -> list[Opened]:
    """Read and open `trees` stems of one kind of cavity: what calibration learns, and the figure as stated."""
    found = []
    for tree, cavity in enumerate(np.repeat(cavities.invent(family, trees, rng), CUTS, 0)):
        radius = float(rng.uniform(15, 50))
        azimuths = (int(rng.integers(360)) + np.arange(READINGS) * 360 // READINGS) % 360
        walls = np.maximum((1 - cavity[azimuths]) * radius + rng.normal(0, ERROR * radius, READINGS), 0)
        readings = tuple(
            Reading(float(a), float(wall), None, ERROR * radius) for a, wall in zip(azimuths, walls, strict=True)
        )
        figure = wall_interval(Section(circle(2 * radius), readings, height_m=1.0))
        if figure is None:
            raise ValueError("a section with readings has an interval")
        truth = float(np.clip((1 - cavity).min(), 0, 1))
        spread = spread_of(figure.low, figure.high)
        name = f"{family}{first + tree // CUTS}"
        found.append((Row(name, figure.best, truth, "utility", "none", "drilling", "any", spread), figure))
    return found


def compare(trees: int, seed: int) -> dict[str, Any]:
    """Learn from `trees` stems of each kind, judge as many others: coverage and interval score, before and after."""
    rng = np.random.default_rng(seed)
    kinds = tuple(cavities.FAMILIES)
    learnt = fit([row for family in kinds for row, _ in stems(family, trees, rng)])
    judged = [one for family in kinds for one in stems(family, trees, rng, trees)]
    found = correct_all(
        learnt,
        [Estimate(row.estimated or 0.0, row.spread, row.sign, row.method, row.group, row.reason) for row, _ in judged],
    )
    truth = np.array([row.found for row, _ in judged])
    after = np.array([[f.figure.low, f.figure.high, f.figure.low95, f.figure.high95] for f in found])
    before = np.array([[figure.low, figure.high, figure.low95, figure.high95] for _, figure in judged])
    told: dict[str, Any] = {"opened": len(kinds) * trees, "applied": sum(one.applied for one in found)}
    for name, ends in (("as_stated", before), ("corrected", after)):
        held = [100 * float(((ends[:, k] <= truth) & (truth <= ends[:, k + 1])).mean()) for k in (2, 0)]
        scores = [float(interval_score(ends[:, k], ends[:, k + 1], truth, share).mean()) for k, share in
                  ((2, 0.95), (0, 0.8))]  # fmt: skip
        told[name] = {"held_95_80": [round(h, 1) for h in held], "score_95_80": [round(s, 3) for s in scores]}
    return told
