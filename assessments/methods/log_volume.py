"""Volume of one log from its diameters by the rules of Huber, Smalian and Newton, and the straight frustum.

Huber understates a flared butt, Smalian overstates it; Newton is exact for cylinder, cone, paraboloid and neiloid.
"""

import math
from typing import Final

import numpy as np
import numpy.typing as npt

METHOD: Final = "log_volume_rules"
VERSION: Final = 1

Floats = npt.NDArray[np.float64]


def area_m2(diameter_cm: npt.ArrayLike) -> Floats:
    """Give the area of a circle in m2.

    >>> round(float(area_m2(100.0)), 6)
    0.785398
    """
    return np.asarray(math.pi / 4e4 * np.asarray(diameter_cm, np.float64) ** 2)


def huber_m3(middle_cm: npt.ArrayLike, length_m: npt.ArrayLike) -> Floats:
    """Give volume from the middle diameter: exact for cylinder and paraboloid."""
    return np.asarray(area_m2(middle_cm) * np.asarray(length_m, np.float64))


def smalian_m3(lower_cm: npt.ArrayLike, upper_cm: npt.ArrayLike, length_m: npt.ArrayLike) -> Floats:
    """Give volume from both end diameters: exact for the paraboloid, too much for a butt swell."""
    return np.asarray((area_m2(lower_cm) + area_m2(upper_cm)) / 2 * np.asarray(length_m, np.float64))


def newton_m3(
    lower_cm: npt.ArrayLike, middle_cm: npt.ArrayLike, upper_cm: npt.ArrayLike, length_m: npt.ArrayLike
) -> Floats:
    """Give volume from both ends and the middle."""
    areas = area_m2(lower_cm) + 4 * area_m2(middle_cm) + area_m2(upper_cm)
    return np.asarray(areas / 6 * np.asarray(length_m, np.float64))


def frustum_m3(lower_cm: npt.ArrayLike, upper_cm: npt.ArrayLike, length_m: npt.ArrayLike) -> Floats:
    """Give volume of a straight taper between two diameters.

    >>> round(float(frustum_m3(52.0, 40.0, 3.0)), 6)
    0.501398
    """
    d0, d1 = np.asarray(lower_cm, np.float64), np.asarray(upper_cm, np.float64)
    return np.asarray(math.pi / 12e4 * (d0**2 + d0 * d1 + d1**2) * np.asarray(length_m, np.float64))
