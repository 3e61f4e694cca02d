"""The same stem load for a whole city: sound upright trees as arrays, at one height, without sections or lean."""

from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.wind import Crowns, Wind, moment_knm
from assessments.methods.wind.profile import Floats

from .forces import STEM_DRAG

METHOD: Final = "stem_load_screening"
VERSION: Final = 1

_BLOCK: Final = 50_000
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


def screen(
    crowns: Crowns, wind: Wind, wood_cm: npt.ArrayLike, strength_mpa: npt.ArrayLike, at_m: float = 1.0
) -> Floats:
    """Give the 3-second gust at 10 m at which sound stems reach their strength, in m/s, (n,).

    `wood_cm` (n,) are diameters without bark at `at_m`, taken to hold up to the crown; `strength_mpa` (n,) green
    compression along the grain. Weight, lean and decay are left out: a screening, not an answer for one tree.

    >>> crowns = Crowns.of([18.0, 18.0], 4.0, [10.0, 5.0], 0.25)
    >>> gusts = screen(crowns, Wind(25.0, "3s", 0.22), 60.0, 28.96)
    >>> bool(gusts[1] > gusts[0] > 50)
    True
    """
    count = len(crowns.height_m)
    diameters, strengths = (np.broadcast_to(np.asarray(v, np.float64), (count,)) for v in (wood_cm, strength_mpa))
    found = np.empty(count)
    for start in range(0, count, _BLOCK):
        part = slice(start, start + _BLOCK)
        some = Crowns(crowns.height_m[part], crowns.base_m[part], crowns.width_m[part], crowns.drag[part], crowns.shape)
        moment = moment_knm(some, wind, at_m) + _stems(some, wind, diameters[part], at_m)
        stress = moment / (np.pi * diameters[part] ** 3 / 32) * 1000
        found[part] = wind.gust_v10_m_s * np.sqrt(strengths[part] / stress)
    return found


def _stems(crowns: Crowns, wind: Wind, diameter_cm: Floats, at_m: float) -> Floats:
    low = np.minimum(crowns.base_m, at_m)
    length = (crowns.base_m - low)[:, None]
    z = low[:, None] + length * (_NODES + 1) / 2
    force = STEM_DRAG * wind.pressure_n_m2(z) * diameter_cm[:, None] / 100
    return np.asarray((force * (z - at_m) * _WEIGHTS * length / 2).sum(-1) / 1000)
