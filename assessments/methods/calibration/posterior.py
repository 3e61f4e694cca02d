"""The posterior of the hierarchical Gaussian model: coefficients exactly, standard deviations by weighted draws.

Given the six standard deviations everything is conjugate and trees are integrated out. Their own posterior is found by
Newton steps on the marginal likelihood, drawn from a t distribution round its mode and weighed (importance sampling),
then thinned to equal points. Deterministic: the same sums give the same points.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from assessments.methods.section.integrals import Floats

from .priors import SIZES, Priors
from .sums import Sums, Whole

METHOD: Final = "hierarchical_gaussian_by_weighted_draws"
VERSION: Final = 1

DRAWS: Final = 384
POINTS: Final = 64
SEED: Final = 20261125
_STEPS: Final = 12
_STEP: Final = 0.04  # of the differences, in logs
_DEGREES: Final = 7.0  # of the t distribution
_DIMENSIONS: Final = len(SIZES)


@dataclass(frozen=True)
class Points:
    """Equally likely points of the posterior: sds (..., k, 6), coefficients' means (..., k, p), covariances, ess."""

    sizes: Floats
    mean: Floats
    covariance: Floats
    effective_draws: Floats  # (...): of DRAWS


@dataclass(frozen=True)
class Model:
    """Sums with their priors: `factor` (p,) tells which sd a column's prior has, 0 intercept, 1 slope, then FACTORS.

    The value of a row is what is left after the prior mean of the slope, so that every coefficient has prior mean 0.
    """

    sums: Sums
    factor: Whole
    priors: Priors

    def variances(self, logs: Floats) -> Floats:
        """Prior variances of the coefficients (..., k, p) for logs of the sds (..., k, 6)."""
        fixed = np.array([self.priors.intercept_sd, self.priors.slope_sd]) ** 2
        lead = np.broadcast_to(fixed, (*logs.shape[:-1], 2))
        # Column 2 of the sds is `sign`: factor 2.
        return np.asarray(np.concatenate([lead, np.exp(2 * logs[..., 2:])], -1)[..., self.factor])

    def _normal(self, logs: Floats) -> tuple[Floats, Floats, Floats]:
        """Weighted cross products (..., k, q, q), precision of the coefficients, and sum of log tree variances."""
        residual, tree = np.exp(2 * logs[..., 0]), np.exp(2 * logs[..., 1])
        s = self.sums
        of_trees = residual[..., None] + tree[..., None] * s.weight[..., None, :]
        q = s.within.shape[-1]
        flat = s.between.reshape(*s.between.shape[:-2], q * q)
        cross = s.within[..., None, :, :] / residual[..., None, None]
        cross = cross + ((1 / of_trees) @ flat).reshape(*of_trees.shape[:-1], q, q)
        precision = cross[..., :-1, :-1].copy()
        diagonal = np.arange(q - 1)
        precision[..., diagonal, diagonal] += 1 / self.variances(logs)
        spread = (s.count[..., None, :] * np.log(of_trees / residual[..., None])).sum(-1)
        return cross, precision, spread + s.rows[..., None] * np.log(residual)

    def log_posterior(self, logs: Floats) -> Floats:
        """Log posterior density (..., k) of logs of the sds (..., k, 6), up to a constant."""
        cross, precision, spread = self._normal(logs)
        lower = np.linalg.cholesky(precision)
        white = np.linalg.solve(lower, cross[..., :-1, -1:])[..., 0]
        half = np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(-1)
        half = half + 0.5 * np.log(self.variances(logs)).sum(-1)
        misfit = cross[..., -1, -1] - (white**2).sum(-1)
        prior = ((logs - self.priors.log_medians) / self.priors.log_sds) ** 2
        return np.asarray(-0.5 * (spread + misfit + prior.sum(-1)) - half)

    def coefficients(self, logs: Floats) -> tuple[Floats, Floats]:
        """Posterior mean (..., k, p) and covariance (..., k, p, p) of the coefficients given the sds."""
        cross, precision, _ = self._normal(logs)
        covariance: Floats = np.asarray(np.linalg.inv(precision), np.float64)
        return np.asarray((covariance @ cross[..., :-1, -1:])[..., 0]), covariance


def solve(model: Model) -> Points:
    """Find the posterior of each data set."""
    mode, root = _mode(model)
    t = _draws()
    logs = mode[..., None, :] + t @ np.swapaxes(root, -1, -2)
    density = -0.5 * (_DEGREES + _DIMENSIONS) * np.log1p((t**2).sum(-1) / _DEGREES)
    odds = model.log_posterior(logs) - density
    weight = np.exp(odds - odds.max(-1, keepdims=True))
    weight /= weight.sum(-1, keepdims=True)
    chosen = _thinned(logs, weight)
    picked = np.take_along_axis(logs, chosen[..., None], -2)
    mean, covariance = model.coefficients(picked)
    return Points(np.exp(picked), mean, covariance, 1 / (weight**2).sum(-1))


def _thinned(logs: Floats, weight: Floats) -> Whole:
    """Choose POINTS of the draws systematically along the predictive variance, each as likely as its weight."""
    order = np.argsort(np.exp(2 * logs).sum(-1), -1, kind="stable")
    rising = np.cumsum(np.take_along_axis(weight, order, -1), -1)
    at = (np.arange(POINTS) + 0.5) / POINTS
    place = (rising[..., None, :] < at[:, None]).sum(-1).clip(max=order.shape[-1] - 1)
    return np.take_along_axis(order, place, -1)


@lru_cache(maxsize=1)
def _draws() -> Floats:
    """Fixed draws (DRAWS, 6) of a standard t, in opposite pairs."""
    rng = np.random.default_rng(SEED)
    half = rng.standard_normal((DRAWS // 2, _DIMENSIONS))
    scale = np.sqrt(_DEGREES / rng.chisquare(_DEGREES, (DRAWS // 2, 1)))
    return np.concatenate([half * scale, -half * scale])


def _mode(model: Model) -> tuple[Floats, Floats]:
    """Mode (..., 6) of the logs of the sds, and a root (..., 6, 6) of the covariance there."""
    shape = (*model.sums.rows.shape, _DIMENSIONS)
    mode = np.broadcast_to(model.priors.log_medians, shape).copy()
    prior = np.diag(1 / model.priors.log_sds**2)
    for _ in range(_STEPS):
        slope, curve = _differences(model, mode)
        step = np.linalg.solve(_definite(curve, prior), slope[..., None])[..., 0]
        longest = np.abs(step).max(-1, keepdims=True)
        mode = _best(model, mode, step * np.minimum(1, 1.2 / np.maximum(longest, 1e-9)))
        if float(longest.max()) < 0.02:
            break
    curve = _definite(_differences(model, mode)[1], prior)
    return mode, np.linalg.cholesky(np.linalg.inv(curve))


def _best(model: Model, mode: Floats, step: Floats) -> Floats:
    """Go as far along a step as is best: all of it, a half, a fifth, or nowhere."""
    tries = mode[..., None, :] + np.array([1.0, 0.5, 0.2, 0.0])[:, None] * step[..., None, :]
    best = model.log_posterior(tries).argmax(-1)
    return np.take_along_axis(tries, best[..., None, None], -2)[..., 0, :]


def _differences(model: Model, at: Floats) -> tuple[Floats, Floats]:
    """Slope (..., 6) and minus the curvature (..., 6, 6) of the log posterior by differences."""
    unit = np.eye(_DIMENSIONS) * _STEP
    rows, columns = np.triu_indices(_DIMENSIONS, 1)
    pairs = unit[rows] + unit[columns]
    moves = np.concatenate([np.zeros((1, _DIMENSIONS)), unit, -unit, pairs, -pairs])
    value = model.log_posterior(at[..., None, :] + moves)
    d, pair = _DIMENSIONS, len(rows)
    here, up, down = value[..., :1], value[..., 1 : d + 1], value[..., d + 1 : 2 * d + 1]
    bend = (up + down - 2 * here) / _STEP**2
    both = value[..., 2 * d + 1 : 2 * d + 1 + pair] + value[..., 2 * d + 1 + pair :]
    mixed = (both - 2 * here) / _STEP**2 - bend[..., rows] - bend[..., columns]
    curve = np.zeros((*at.shape, d))
    curve[..., np.arange(d), np.arange(d)] = -bend
    curve[..., rows, columns] = curve[..., columns, rows] = -mixed / 2
    return (up - down) / (2 * _STEP), curve


def _definite(curve: Floats, prior: Floats) -> Floats:
    """Hold a curvature up: no direction flatter than a third of the prior's."""
    scale = np.sqrt(np.diag(prior))
    values, vectors = np.linalg.eigh(curve / np.outer(scale, scale))
    lifted = (vectors * np.maximum(values, 1 / 3)[..., None, :]) @ np.swapaxes(vectors, -1, -2)
    return np.asarray(lifted * np.outer(scale, scale))
