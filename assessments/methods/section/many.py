"""Round sections by the thousand: best estimates and intervals from readings at shared azimuths, vectorised.

The same rays and field as for one section; the errors of the readings are rounded to steps of a tenth in their ratio
to R, so that stems of about the same size share one prepared field, whichever others are computed beside them.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from . import field
from .integrals import Floats
from .rays import Rays, least_modulus
from .readings import Polar, weights

METHOD: Final = "round_sections_by_rays"
VERSION: Final = 2

STEPS: Final = 180
_BLOCK: Final = 2000
_RATIO_STEP: Final = 1.1


@dataclass(frozen=True)
class Estimates:
    """Best estimates of n sections: least W (cm3), its azimuth, loss in %, thinnest reading (cm) and t/R; each (n,)."""

    worst_cm3: Floats
    worst_azimuth_deg: Floats
    loss_percent: Floats
    thinnest_wall_cm: Floats
    t_over_r: Floats


def best_estimates(radius_cm: npt.ArrayLike, azimuths_deg: npt.ArrayLike, walls_cm: npt.ArrayLike) -> Estimates:
    """Compute n round sections: radii without bark (n,), shared azimuths (k,), sound walls (n, k); voids to the centre.

    Raises ValueError where shapes do not fit or a number is out of range.

    >>> estimates = best_estimates([40.0, 30.0], [0.0, 180.0], [[15.0, 15.0], [30.0, 30.0]])
    >>> estimates.loss_percent.round(1).tolist()
    [15.3, 0.0]
    """
    radius, azimuths, walls = _checked(radius_cm, azimuths_deg, walls_cm)
    grid = _grid(azimuths)
    rays, between = Rays(grid, np.ones(len(grid))), weights(azimuths, grid).T
    parts = [
        least_modulus(rays, _void(rays, share @ between))
        for share in np.split(walls / radius[:, None], range(_BLOCK, len(radius), _BLOCK))
    ]
    modulus, azimuth = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
    thinnest = walls.min(1)
    return Estimates(modulus * radius**3, azimuth, _loss(rays, modulus), thinnest, thinnest / radius)


def intervals(
    radius_cm: npt.ArrayLike,
    azimuths_deg: npt.ArrayLike,
    walls_cm: npt.ArrayLike,
    error_cm: float,
    draws: int,
    seed: int,
) -> Floats:
    """Give the 2.5, 10, 90 and 97.5 % points of the loss in %, (n, 4), for sections as in `best_estimates`.

    >>> points = intervals([40.0], [0.0, 90.0, 180.0, 270.0], [[15.0, 14.0, 16.0, 15.0]], 0.5, 200, 1)
    >>> bool(10 < points[0, 1] < points[0, 2] < 30)
    True
    """
    radius, azimuths, walls = _checked(radius_cm, azimuths_deg, walls_cm)
    grid = _grid(azimuths, 96)
    rays = Rays(grid, np.ones(len(grid)))
    found = np.empty((len(radius), 4))
    steps = np.round(np.log(max(error_cm, 1e-6) / radius) / np.log(_RATIO_STEP)).astype(int)
    for step in np.unique(steps):
        errors = np.full(len(azimuths), _RATIO_STEP ** float(step))
        prepared = field.prepare(azimuths, errors, grid, draws, seed)
        for row in np.flatnonzero(steps == step):
            modulus, _ = least_modulus(rays, _void(rays, prepared.draw(walls[row] / radius[row])))
            found[row] = np.quantile(_loss(rays, modulus), (0.025, 0.10, 0.90, 0.975))
    return found


def _grid(azimuths: Floats, steps: int = STEPS) -> Floats:
    even = np.linspace(0.0, 360.0, steps, endpoint=False)
    return np.unique(np.concatenate([even, azimuths % 360]).round(9) % 360)


def _void(rays: Rays, walls: Floats) -> Polar:
    return Polar(rays.grid_deg, rays.reach_cm, rays.reach_cm - walls, np.zeros(len(rays.grid_deg)))


def _loss(rays: Rays, modulus: Floats) -> Floats:
    sound, _ = least_modulus(rays, _void(rays, rays.reach_cm))
    return np.maximum(100 * (1 - modulus / sound), 0.0)


def _checked(
    radius_cm: npt.ArrayLike, azimuths_deg: npt.ArrayLike, walls_cm: npt.ArrayLike
) -> tuple[Floats, Floats, Floats]:
    radius, azimuths = np.asarray(radius_cm, np.float64), np.asarray(azimuths_deg, np.float64)
    walls = np.asarray(walls_cm, np.float64)
    if walls.shape != (len(radius), len(azimuths)) or not len(azimuths):
        raise ValueError("walls_cm: one row a radius, one column an azimuth")
    if not (np.all(radius > 0) and np.all(walls >= 0) and np.all(np.isfinite(walls)) and np.all(np.isfinite(radius))):
        raise ValueError("radius_cm must be above 0, walls_cm not negative, all finite")
    if len(np.unique(azimuths % 360)) != len(azimuths):
        raise ValueError("azimuths_deg: each once")
    return radius, azimuths, walls
