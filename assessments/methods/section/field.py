"""The unknown wall between readings: a periodic Gaussian process bridged at the readings, smoothness and size averaged.

Lengths in units of the stem's radius R. The wall is a mean level plus a field with a Matern 3/2 covariance of the chord
between azimuths. How smooth and how large the field is, is not known: several of each are weighed by how well they
explain the readings (their marginal likelihood times a prior), and the draws share them out. Priors: the project's
choice, set on invented cavities of other smoothness so that 80 % intervals hold about 80 % (benchmark `sections`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from .integrals import Floats

METHOD: Final = "wall_field_periodic_gaussian_process"
VERSION: Final = 1

Whole: TypeAlias = npt.NDArray[np.int64]

# Length scale as a chord of the unit circle; standard deviation in radii; prior weights.
LENGTHS: Final = (0.35, 0.6, 1.0, 1.8, 3.5)
LENGTH_WEIGHTS: Final = (0.02, 0.07, 0.16, 0.30, 0.45)
SIZES: Final = (0.03, 0.06, 0.11, 0.2, 0.35)
SIZE_WEIGHTS: Final = (0.24, 0.34, 0.27, 0.13, 0.02)
LEVEL_MEAN: Final = 0.45
LEVEL_SD: Final = 0.35
_JITTER: Final = 1e-8


def covariance(a_deg: Floats, b_deg: Floats, length: float) -> Floats:
    """Matern 3/2 covariance of unit size between azimuths, over the chord, so that it closes round the stem.

    >>> covariance(np.array([10.0]), np.array([370.0]), 1.0).round(9).tolist()
    [[1.0]]
    """
    chord = 2 * np.abs(np.sin(np.radians(a_deg[:, None] - b_deg[None, :]) / 2))
    scaled = np.sqrt(3) * chord / length
    return np.asarray((1 + scaled) * np.exp(-scaled))


@dataclass(frozen=True)
class Field:
    """A field prepared for readings at given azimuths with given errors: draws for any walls read there.

    `gains` (h, g, n) turns readings into the expected wall on the grid; `spread` (h, draws, g) is the rest, drawn once:
    so a section's draws do not depend on which others are computed beside it.
    """

    azimuths_deg: Floats  # (n,)
    grid_deg: Floats  # (g,)
    whitening: Floats  # (h, n, n)
    log_priors: Floats  # (h,): log prior weight - log sqrt det
    gains: Floats
    spread: Floats
    ranks: Floats  # (draws,): where each draw stands between 0 and 1 when the fields are shared out

    def weights(self, walls: npt.ArrayLike) -> Floats:
        """Weigh the fields by how well they explain the walls (..., n), in radii: (..., h), sums to 1."""
        off = np.asarray(walls, np.float64) - LEVEL_MEAN
        white = np.einsum("hij,...j->...hi", self.whitening, off)
        log = self.log_priors - 0.5 * (white**2).sum(-1)
        odds = np.exp(log - log.max(-1, keepdims=True))
        return np.asarray(odds / odds.sum(-1, keepdims=True))

    def draw(self, walls: npt.ArrayLike) -> Floats:
        """Draw possible walls (draws, g) for one section's readings (n,), in radii; a wall is never below 0."""
        read = np.asarray(walls, np.float64)
        rising = np.cumsum(self.weights(read))
        which = np.minimum(np.searchsorted(rising, self.ranks), len(rising) - 1)
        expected = LEVEL_MEAN + self.gains @ (read - LEVEL_MEAN)
        found = self.spread[which, np.arange(len(which))] + expected[which]
        return np.asarray(np.maximum(found, 0.0))


def prepare(
    azimuths_deg: npt.ArrayLike, errors: npt.ArrayLike, grid_deg: npt.ArrayLike, draws: int, seed: int
) -> Field:
    """Prepare a field for readings (n,) with errors (n,) in radii, drawn on a grid (g,); same seed, same draws.

    >>> field = prepare([0.0, 90.0, 180.0, 270.0], [0.0] * 4, [0.0, 45.0, 90.0], 50, 1)
    >>> bool(abs(field.draw([0.3, 0.4, 0.3, 0.4])[:, 0] - 0.3).max() < 1e-3)  # bridged: no reading error, no spread
    True
    """
    at, grid = np.asarray(azimuths_deg, np.float64), np.asarray(grid_deg, np.float64)
    noise = np.asarray(errors, np.float64)
    rng = np.random.default_rng(seed)
    count = len(at) + len(grid)
    normal, level = rng.standard_normal((draws, count)), rng.standard_normal((draws, 1))
    slips = rng.standard_normal((draws, len(at))) * noise
    ranks = (rng.permutation(draws) + 0.5) / draws
    parts = [part for length in LENGTHS for part in _of_length(at, noise, grid, length, (normal, level, slips))]
    prior = np.log(np.outer(LENGTH_WEIGHTS, SIZE_WEIGHTS).ravel())
    whitening, logs, gains, spread = (np.stack([part[i] for part in parts]) for i in range(4))
    return Field(at, grid, whitening, prior + logs, gains, spread, ranks)


def _of_length(
    at: Floats, noise: Floats, grid: Floats, length: float, random: tuple[Floats, Floats, Floats]
) -> Iterator[tuple[Floats, Floats, Floats, Floats]]:
    """Whitening, - log sqrt det, gain and spread of the fields of one length scale, one for each size."""
    normal, level, slips = random
    count = len(at)
    places = np.concatenate([at, grid])
    unit = covariance(places, places, length)
    drawn = normal @ np.linalg.cholesky(unit + _JITTER * np.eye(len(places))).T
    for size in SIZES:
        field = size * drawn + LEVEL_SD * level
        joint = size**2 * unit[:, :count] + LEVEL_SD**2
        lower = np.linalg.cholesky(joint[:count] + np.diag(noise**2 + _JITTER))
        whitening = np.linalg.inv(lower)
        gain = joint[count:] @ whitening.T @ whitening
        # Matheron's rule: a draw from the prior, put right by what it misses at the readings.
        spread = field[:, count:] - (field[:, :count] + slips) @ gain.T
        yield whitening, np.asarray(-np.log(np.diag(lower)).sum()), gain, spread
