"""Invented cities of dissected trees: effects drawn from the prior, and worlds that break the model on purpose.

Seeds are fixed in the tests before any result was seen. Everything is on the logit scale.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.random import Generator

from assessments.methods.calibration.posterior import Model, Points, solve
from assessments.methods.calibration.priors import PRIORS, Priors
from assessments.methods.calibration.rows import CENTRE
from assessments.methods.calibration.sums import Sums, sums, together
from assessments.methods.section.integrals import Floats

SIGNS: Final = 4
METHODS: Final = 3
GROUPS: Final = 3
REASONS: Final = 3
LEVELS: Final = (SIGNS, METHODS, GROUPS, REASONS)
COLUMNS: Final = 2 + sum(LEVELS)
FACTOR: Final = np.concatenate([[0, 1], *(np.full(n, 2 + i) for i, n in enumerate(LEVELS))]).astype(np.int64)
STARTS: Final = np.cumsum([2, *LEVELS[:-1]])
SPREADS: Final = (0.25, 0.4, 0.6)


@dataclass(frozen=True)
class World:
    """How the truth depends on the estimate in one city: coefficients, tree's and residual's sd, tails."""

    coefficients: Floats  # (p,): bias at the centre, slope, effects
    tree_sd: float
    residual: float
    degrees: float = np.inf  # of the t distribution of trees and residuals

    def truth(self, rng: Generator, rows: "Rows") -> Floats:
        """Truth of rows, on the logit scale from the centre."""
        tree = self.tree_sd * self._draw(rng, rows.trees)[rows.tree]
        mean = rows.design @ self.coefficients + rows.design[:, 1] * 0
        return np.asarray(mean + tree + self.residual * rows.spread * self._draw(rng, len(rows.tree)))

    def _draw(self, rng: Generator, count: int) -> Floats:
        normal = rng.standard_normal(count)
        if np.isinf(self.degrees):
            return normal
        return normal / np.sqrt(rng.chisquare(self.degrees, count) / self.degrees)


@dataclass(frozen=True)
class Rows:
    """Rows before they are opened: design (n, p), spread (n,), tree (n,)."""

    design: Floats
    spread: Floats
    tree: np.ndarray
    trees: int


def rows(rng: Generator, trees: int, cuts: int, x: Floats | None = None) -> Rows:
    """Estimates of `cuts` sections of each tree: the tree's own level plus the section's."""
    tree = np.repeat(np.arange(trees), cuts)
    if x is None:
        x = rng.normal(0.3, 0.9, trees)[tree] + rng.normal(0, 0.5, trees * cuts)
    levels = np.column_stack(
        [
            rng.integers(SIGNS, size=trees * cuts),
            rng.integers(METHODS, size=trees * cuts),
            (np.arange(trees) % GROUPS)[tree],
            rng.integers(REASONS, size=trees)[tree],
        ]
    )
    design = np.zeros((len(tree), COLUMNS))
    design[:, 0], design[:, 1] = 1.0, x
    design[np.arange(len(tree))[:, None], STARTS + levels] = 1.0
    # Three classes of spread, as many trees of each, so that data sets stack.
    return Rows(design, np.array(SPREADS)[np.arange(trees) * len(SPREADS) // max(trees, 1)][tree], tree, trees)


def drawn(rng: Generator, priors: Priors = PRIORS, bias: float = 1.0) -> World:
    """A world with everything drawn from the prior; `bias` multiplies the intercept's and the effects' size."""
    sizes = np.exp(rng.normal(priors.log_medians, priors.log_sds))
    sd = np.concatenate([[priors.intercept_sd, priors.slope_sd], sizes[2:]])[FACTOR]
    sd[FACTOR != 1] *= bias
    coefficients = rng.standard_normal(COLUMNS) * sd
    coefficients[1] += priors.slope_mean
    return World(coefficients, float(sizes[1]), float(sizes[0]))


def data(rows: Rows, truth: Floats, priors: Priors = PRIORS) -> Sums:
    """Sums of opened rows: what is left of the truth after the slope's prior mean."""
    return sums(rows.design, truth - priors.slope_mean * rows.design[:, 1], rows.spread, rows.tree)


def fitted(parts: list[Sums], priors: Priors = PRIORS) -> Points:
    return solve(Model(together(parts), FACTOR, priors))


def chosen(rows: Rows, trees: np.ndarray) -> Rows:
    """Only some trees, renumbered."""
    keep = np.isin(rows.tree, trees)
    number = np.searchsorted(trees, rows.tree[keep])
    return replace(rows, design=rows.design[keep], spread=rows.spread[keep], tree=number, trees=len(trees))


__all__ = ["CENTRE", "Rows", "World", "chosen", "data", "drawn", "fitted", "rows"]
