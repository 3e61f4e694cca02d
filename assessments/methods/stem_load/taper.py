"""Stem diameter by height: measured points joined by straight lines, beyond them the bole model of Ormerod 1973.

Ormerod: d(z) = d(z0) x ((H - z) / (H - z0))^p; p = 0.5 paraboloid, 1 cone. Butt swell is left out, on the safe side.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

METHOD: Final = "taper_ormerod_1973"
VERSION: Final = 1

# A cone. 31 measured black cherries give 0.98 +- 0.15 (see tests/published).
DEFAULT_EXPONENT: Final = 1.0
FORMS: Final = {"paraboloid": 0.5, "cone": 1.0, "neiloid": 1.5}


@dataclass(frozen=True)
class Stem:
    """A stem: top in m, measured (height_m, diameter_cm over bark) by rising height, exponent, share of wood across."""

    height_m: float
    points: tuple[tuple[float, float], ...]
    exponent: float = DEFAULT_EXPONENT
    wood_share: float = 1.0

    def diameter_cm(self, height_m: npt.ArrayLike) -> Floats:
        """Give the diameter over bark at heights in m; 0 at the top.

        >>> Stem(20.0, ((1.3, 40.0),)).diameter_cm([1.3, 10.65, 20.0]).round(2).tolist()
        [40.0, 20.0, 0.0]
        """
        z = np.asarray(height_m, np.float64)
        heights, diameters = np.array(self.points, np.float64).T
        found = np.interp(z, heights, diameters)
        for end, beyond in ((0, z < heights[0]), (-1, z > heights[-1])):
            ratio = np.clip((self.height_m - z) / (self.height_m - heights[end]), 0, None)
            found = np.where(beyond, diameters[end] * ratio**self.exponent, found)
        return np.asarray(found)

    def wood_cm(self, height_m: npt.ArrayLike) -> Floats:
        """Give the diameter under bark."""
        return np.asarray(self.diameter_cm(height_m) * self.wood_share)

    def modulus_cm3(self, height_m: npt.ArrayLike) -> Floats:
        """Give the section modulus of the sound stem under bark, pi d^3 / 32."""
        return np.asarray(np.pi * self.wood_cm(height_m) ** 3 / 32)

    def volume_m3(self, above_m: npt.ArrayLike, steps: int = 200) -> Floats:
        """Give the volume over bark above heights (k,), by the trapezium rule on areas."""
        share = np.linspace(0, 1, steps + 1)
        low = np.asarray(above_m, np.float64)[..., None]
        areas = np.pi * self.diameter_cm(low + (self.height_m - low) * share) ** 2 / 4e4
        return np.asarray(np.trapezoid(areas, share, axis=-1) * (self.height_m - low[..., 0]))


def form_factor(exponent: float, height_m: float, at_m: float) -> float:
    """Give stem volume over (area at the height of the diameter x height) of Ormerod's form.

    >>> round(form_factor(1.0, 1e9, 1.3), 4), round(form_factor(0.5, 1e9, 1.3), 4)
    (0.3333, 0.5)
    """
    return float((height_m / (height_m - at_m)) ** (2 * exponent) / (2 * exponent + 1))
