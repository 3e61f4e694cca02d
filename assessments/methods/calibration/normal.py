"""The normal distribution function and quantiles of mixtures of normals, with numpy alone."""

from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.section.integrals import Floats

METHOD: Final = "normal_mixture_quantiles"
VERSION: Final = 1

# Abramowitz & Stegun 1964, formula 26.2.17: absolute error below 7.5e-8.
_B: Final = (0.319381530, -0.356563782, 1.781477937, -1.821255978, 1.330274429)
_HALVINGS: Final = 34


def cdf(z: npt.ArrayLike) -> Floats:
    """Give the probability that a standard normal is at most z.

    >>> cdf([0.0, 1.959964]).round(4).tolist()
    [0.5, 0.975]
    """
    at = np.asarray(z, np.float64)
    t = 1 / (1 + 0.2316419 * np.abs(at))
    series = t * (_B[0] + t * (_B[1] + t * (_B[2] + t * (_B[3] + t * _B[4]))))
    upper = np.exp(-0.5 * at * at) / np.sqrt(2 * np.pi) * series
    return np.asarray(np.where(at >= 0, 1 - upper, upper))


def mixture_quantiles(mean: Floats, sd: Floats, levels: npt.ArrayLike) -> Floats:
    """Give quantiles (..., l) of equal mixtures of normals with means and sds (..., k), by halving.

    >>> mixture_quantiles(np.zeros(3), np.ones(3), [0.1, 0.9]).round(3).tolist()
    [-1.282, 1.282]
    """
    wanted = np.asarray(levels, np.float64)
    low = np.repeat((mean - 7 * sd).min(-1)[..., None], len(wanted), -1)
    high = np.repeat((mean + 7 * sd).max(-1)[..., None], len(wanted), -1)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        below = cdf((middle[..., None] - mean[..., None, :]) / sd[..., None, :]).mean(-1) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2)
