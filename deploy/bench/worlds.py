"""Invented cities of dissected trees: effects drawn from the prior, and worlds that break the model on purpose.

Everything is on the logit scale, counted from the centre of the calibration.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt
from numpy.random import Generator

from assessments.methods.calibration.posterior import Model, Points, solve
from assessments.methods.calibration.priors import PRIORS, Priors
from assessments.methods.calibration.sums import Sums, Whole, sums, together

Floats = npt.NDArray[np.float64]

# Levels of sign, method, species group and reason.
LEVELS: Final = (4, 3, 3, 3)
GROUPS: Final = LEVELS[2]
COLUMNS: Final = 2 + sum(LEVELS)
FACTOR: Final = np.concatenate([[0, 1], *(np.full(n, 2 + i) for i, n in enumerate(LEVELS))]).astype(np.int64)
_STARTS: Final = np.cumsum([2, *LEVELS[:-1]])
# Stated spreads; three classes of trees, so that data sets stack.
SPREADS: Final = (0.25, 0.4, 0.6)


@dataclass(frozen=True)
class Rows:
    """Sections before they are opened: design (n, p) with the estimate in column 1, stated spread (n,), tree (n,)."""

    design: Floats
    spread: Floats
    tree: Whole
    trees: int


@dataclass(frozen=True)
class World:
    """How the truth depends on the estimate in one city: coefficients (p,), a tree's sd, multiplier of the spread.

    `degrees`: of the t distribution of trees and residuals, scaled to unit variance.
    """

    coefficients: Floats
    tree_sd: float
    residual: float
    degrees: float = np.inf

    def truth(self, rng: Generator, rows: Rows) -> Floats:
        """Draw the truth of rows."""
        tree = self.tree_sd * self._draw(rng, rows.trees)[rows.tree]
        own = self.residual * rows.spread * self._draw(rng, len(rows.tree))
        return np.asarray(rows.design @ self.coefficients + tree + own)

    def _draw(self, rng: Generator, count: int) -> Floats:
        normal = rng.standard_normal(count)
        if np.isinf(self.degrees):
            return normal
        heavy = normal / np.sqrt(rng.chisquare(self.degrees, count) / self.degrees)
        return np.asarray(heavy * np.sqrt((self.degrees - 2) / self.degrees))


def rows(rng: Generator, trees: int, cuts: int) -> Rows:
    """Draw sections of trees: the estimate is the tree's own level plus the section's."""
    tree = np.repeat(np.arange(trees), cuts)
    levels = np.column_stack(
        [
            rng.integers(LEVELS[0], size=trees * cuts),
            rng.integers(LEVELS[1], size=trees * cuts),
            (np.arange(trees) % LEVELS[2])[tree],
            rng.integers(LEVELS[3], size=trees)[tree],
        ]
    )
    design = np.zeros((len(tree), COLUMNS))
    design[:, 0] = 1.0
    design[:, 1] = rng.normal(0.3, 0.9, trees)[tree] + rng.normal(0, 0.5, trees * cuts)
    design[np.arange(len(tree))[:, None], _STARTS + levels] = 1.0
    classes = np.arange(trees) * len(SPREADS) // max(trees, 1)
    return Rows(design, np.array(SPREADS)[classes][tree], tree, trees)


def drawn(rng: Generator, priors: Priors = PRIORS, bias: float = 1.0, degrees: float = np.inf) -> World:
    """Draw a world from the prior; `bias` multiplies the sd of intercept and effects."""
    sizes = np.exp(rng.normal(priors.log_medians, priors.log_sds))
    sd = np.concatenate([[priors.intercept_sd, priors.slope_sd], sizes[2:]])[FACTOR]
    sd[FACTOR != 1] *= bias
    coefficients = rng.standard_normal(COLUMNS) * sd
    coefficients[1] += priors.slope_mean
    return World(coefficients, float(sizes[1]), float(sizes[0]), degrees)


def only(given: Rows, trees: Whole) -> Rows:
    """Keep only some trees (rising numbers), renumbered."""
    keep = np.isin(given.tree, trees)
    number = np.searchsorted(trees, given.tree[keep])
    return replace(given, design=given.design[keep], spread=given.spread[keep], tree=number, trees=len(trees))


def mean_of_trees(given: Rows, value: Floats) -> Floats:
    """Mean of a value (n,) over each tree's rows."""
    return np.asarray(np.bincount(given.tree, value, given.trees) / np.bincount(given.tree, minlength=given.trees))


def opened(given: Rows, truth: Floats, priors: Priors = PRIORS) -> Sums:
    """Sum opened rows: what is left of the truth after the slope's prior mean."""
    return sums(given.design, truth - priors.slope_mean * given.design[:, 1], given.spread, given.tree)


def fitted(parts: Sequence[Sums], priors: Priors = PRIORS) -> Points:
    """Fit the calibration to many data sets at once."""
    return solve(Model(together(parts), FACTOR, priors))
