"""The unknown wall between readings: a periodic Gaussian process bridged at the readings, smoothness and size averaged.

Lengths in units of the stem's radius R. The wall is a mean level plus a field whose covariance falls with the chord
between azimuths: mostly smooth (Matern 3/2), with a share that is no more than continuous (Matern 1/2), for corners.
How far it reaches and how large it is, is not known: several of each are weighed by how well they explain the readings
(their marginal likelihood times a prior), and the draws share them out. Priors and share: the project's choice, set on
eight kinds of invented cavities so that 80 % intervals hold about 80 %; tried on others (benchmark `sections`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from .integrals import Floats

METHOD: Final = "wall_field_periodic_gaussian_process"
VERSION: Final = 2

Whole: TypeAlias = npt.NDArray[np.int64]

# Length scale as a chord of the unit circle; standard deviation in radii; prior weights.
LENGTHS: Final = (0.35, 0.6, 1.0, 1.8, 3.5)
LENGTH_WEIGHTS: Final = (0.06, 0.12, 0.22, 0.28, 0.32)
SIZES: Final = (0.03, 0.06, 0.11, 0.2, 0.35)
SIZE_WEIGHTS: Final = (0.24, 0.34, 0.27, 0.13, 0.02)
# Of the field's variance, what is rough.
ROUGH: Final = 0.2
LEVEL_MEAN: Final = 0.45
LEVEL_SD: Final = 0.35
_JITTER: Final = 1e-8
# Every field: place of its length, its size, logarithm of its prior weight.
_FIELDS: Final = [
    (place, size, float(np.log(weight * share)))
    for place, weight in enumerate(LENGTH_WEIGHTS)
    for size, share in zip(SIZES, SIZE_WEIGHTS, strict=True)
]


def covariance(a_deg: Floats, b_deg: Floats, length: float) -> Floats:
    """Covariance of unit size between azimuths, over the chord, so that it closes round the stem.

    >>> covariance(np.array([10.0]), np.array([370.0]), 1.0).round(9).tolist()
    [[1.0]]
    """
    chord = 2 * np.abs(np.sin(np.radians(a_deg[:, None] - b_deg[None, :]) / 2)) / length
    scaled = np.sqrt(3) * chord
    return np.asarray((1 - ROUGH) * (1 + scaled) * np.exp(-scaled) + ROUGH * np.exp(-chord))


@dataclass(frozen=True)
class _Random:
    """The random numbers of all draws at all places, and where each draw stands when the fields are shared out."""

    normal: Floats  # (draws, places)
    level: Floats  # (draws, 1)
    slips: Floats  # (draws, n), in radii
    ranks: Floats  # (draws,), between 0 and 1

    @classmethod
    def of(cls, seed: int, draws: int, places: int, noise: Floats) -> "_Random":
        rng = np.random.default_rng(seed)
        normal, level = rng.standard_normal((draws, places)), rng.standard_normal((draws, 1))
        slips = rng.standard_normal((draws, len(noise))) * noise
        return cls(normal, level, slips, (rng.permutation(draws) + 0.5) / draws)

    def some(self, which: npt.NDArray[np.intp]) -> "_Random":
        """Those of some draws."""
        return _Random(self.normal[which], self.level[which], self.slips[which], self.ranks[which])


@dataclass(frozen=True)
class _Places:
    """Where readings (n,) and grid (g,) lie among all azimuths that are drawn, each once."""

    all_deg: Floats
    read: npt.NDArray[np.intp]
    grid: npt.NDArray[np.intp]

    @classmethod
    def of(cls, at: Floats, grid: Floats) -> "_Places":
        found, back = np.unique(np.concatenate([at, grid]), return_inverse=True)
        return cls(found, back[: len(at)], back[len(at) :])


def _lower(unit: Floats, size: float, noise: Floats) -> Floats:
    """Cholesky factor of the covariance of the readings, their errors and the level included."""
    return np.asarray(np.linalg.cholesky(size**2 * unit + LEVEL_SD**2 + np.diag(noise**2 + _JITTER)))


def _odds(log: Floats) -> Floats:
    odds = np.exp(log - log.max(-1, keepdims=True))
    return np.asarray(odds / odds.sum(-1, keepdims=True))


def _which(weights: Floats, ranks: Floats) -> npt.NDArray[np.intp]:
    return np.minimum(np.searchsorted(np.cumsum(weights), ranks), len(weights) - 1)


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
        return _odds(self.log_priors - 0.5 * (white**2).sum(-1))

    def draw(self, walls: npt.ArrayLike) -> Floats:
        """Draw possible walls (draws, g) for one section's readings (n,), in radii; a wall is never below 0."""
        read = np.asarray(walls, np.float64)
        which = _which(self.weights(read), self.ranks)
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
    at, grid, noise = (np.asarray(given, np.float64) for given in (azimuths_deg, grid_deg, errors))
    places = _Places.of(at, grid)
    random = _Random.of(seed, draws, len(places.all_deg), noise)
    parts = [part for length in LENGTHS for part in _of_length(places, noise, length, random)]
    prior = np.array([log for _, _, log in _FIELDS])
    whitening, logs, gains, spread = (np.stack([part[i] for part in parts]) for i in range(4))
    return Field(at, grid, whitening, prior + logs, gains, spread, random.ranks)


def _of_length(
    places: _Places, noise: Floats, length: float, random: _Random
) -> Iterator[tuple[Floats, Floats, Floats, Floats]]:
    """Whitening, - log sqrt det, gain and spread of the fields of one length scale, one for each size."""
    unit = covariance(places.all_deg, places.all_deg, length)
    drawn = _drawn(unit, random)
    for size in SIZES:
        lower = _lower(unit[np.ix_(places.read, places.read)], size, noise)
        whitening: Floats = np.asarray(np.linalg.inv(lower))
        gain: Floats = np.asarray(_joint(unit, places, size) @ whitening.T @ whitening)
        yield whitening, np.asarray(-np.log(np.diag(lower)).sum()), gain, _rest(drawn, size, gain, places, random)


def _drawn(unit: Floats, random: _Random) -> Floats:
    return np.asarray(random.normal @ np.linalg.cholesky(unit + _JITTER * np.eye(len(unit))).T)


def _joint(unit: Floats, places: _Places, size: float) -> Floats:
    """Covariance of grid and readings, (g, n)."""
    return np.asarray(size**2 * unit[np.ix_(places.grid, places.read)] + LEVEL_SD**2)


def _rest(drawn: Floats, size: float, gain: Floats, places: _Places, random: _Random) -> Floats:
    """Matheron's rule: draws from the prior, put right by what they miss at the readings."""
    field = size * drawn + LEVEL_SD * random.level
    return np.asarray(field[:, places.grid] - (field[:, places.read] + random.slips) @ gain.T)


def draw_once(
    azimuths_deg: npt.ArrayLike,
    errors: npt.ArrayLike,
    grid_deg: npt.ArrayLike,
    walls: npt.ArrayLike,
    draws: int,
    seed: int,
) -> Floats:
    """Give `prepare(...).draw(walls)` for one section, at the cost of the fields that its draws fall to.

    >>> given = [0.0, 90.0, 180.0, 270.0], [0.01] * 4, [0.0, 45.0, 90.0]
    >>> walls = [0.3, 0.4, 0.3, 0.4]
    >>> bool(np.allclose(draw_once(*given, walls, 50, 1), prepare(*given, 50, 1).draw(walls)))
    True
    """
    at, grid, noise, read = (np.asarray(given, np.float64) for given in (azimuths_deg, grid_deg, errors, walls))
    places = _Places.of(at, grid)
    random = _Random.of(seed, draws, len(places.all_deg), noise)
    which, off = _which(_weights(at, noise, read), random.ranks), read - LEVEL_MEAN
    found = np.empty((draws, len(grid)))
    for place, length in enumerate(LENGTHS):
        fields = [number for number, field in enumerate(_FIELDS) if field[0] == place and np.any(which == number)]
        if not fields:
            continue
        unit = covariance(places.all_deg, places.all_deg, length)
        root = np.linalg.cholesky(unit + _JITTER * np.eye(len(unit)))
        for number in fields:
            rows, size = np.flatnonzero(which == number), _FIELDS[number][1]
            lower = _lower(unit[np.ix_(places.read, places.read)], size, noise)
            gain = np.linalg.solve(lower.T, np.linalg.solve(lower, _joint(unit, places, size).T)).T
            mine = random.some(rows)
            found[rows] = LEVEL_MEAN + gain @ off + _rest(mine.normal @ root.T, size, gain, places, mine)
    return np.asarray(np.maximum(found, 0.0))


def _weights(at: Floats, noise: Floats, read: Floats) -> Floats:
    """Weigh the fields by how well they explain one section's walls."""
    units = [covariance(at, at, length) for length in LENGTHS]
    logs = np.empty(len(_FIELDS))
    for number, (place, size, prior) in enumerate(_FIELDS):
        lower = _lower(units[place], size, noise)
        white = np.linalg.solve(lower, read - LEVEL_MEAN)
        logs[number] = prior - np.log(np.diag(lower)).sum() - 0.5 * float(white @ white)
    return _odds(logs)
