"""Root protection radius of a stem: BS 5837:2012, 12 x stem diameter at 1.5 m, at most 15 m.

A first distance for planning, not the extent of the roots; local codes and an arborist on site come first.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

METHOD: Final = "bs5837_2012"
VERSION: Final = 1
SOURCE: Final = "BS 5837:2012, Trees in relation to design, demolition and construction, clause 4.6"

RADIUS_PER_DIAMETER: Final = 12.0
RADIUS_CAP_M: Final = 15.0
DIAMETER_HEIGHT_M: Final = 1.5

VALIDITY: Final = (
    "The rule takes the stem diameter at 1.5 m above ground; a dbh at 1.3 to 1.4 m stands in for it.",
    "It holds for a single stem; several stems enter by their combined diameter.",
    "The radius is capped at 15 m (707 m2).",
    "Where roots cannot spread evenly the zone may be drawn as another shape of the same area.",
    "The radius is counted from the centre of the stem.",
)


def protection_radius_m(stem_diameter_cm: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Give the root protection radius in m for stem diameters in cm, of any shape; NaN stays NaN.

    Raises ValueError for a negative diameter. Source: BS 5837:2012.

    >>> protection_radius_m([50.0, 200.0]).tolist()
    [6.0, 15.0]
    """
    diameter = np.asarray(stem_diameter_cm, np.float64)
    if np.any(diameter < 0):
        raise ValueError("stem_diameter_cm: must not be negative")
    return np.asarray(np.minimum(RADIUS_PER_DIAMETER * diameter / 100, RADIUS_CAP_M))


def protection_area_m2(stem_diameter_cm: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Give the area of the root protection circle in m2, at most 707; as `protection_radius_m` otherwise.

    >>> round(float(protection_area_m2(50.0)), 2)
    113.1
    """
    return np.asarray(math.pi * protection_radius_m(stem_diameter_cm) ** 2)


def combined_diameter_cm(stem_diameters_cm: Sequence[float]) -> float:
    """Combine the stems of one tree: 2 to 5 by the root of their squares, more by mean squared times number.

    Raises ValueError without a stem or with a diameter that is not positive. Source: BS 5837:2012.

    >>> round(combined_diameter_cm([30, 25, 20]), 3)
    43.875
    """
    if not stem_diameters_cm or min(stem_diameters_cm) <= 0:
        raise ValueError("stem_diameters_cm: one positive diameter or more")
    count = len(stem_diameters_cm)
    if count > 5:
        return sum(stem_diameters_cm) / count * math.sqrt(count)
    return math.hypot(*stem_diameters_cm)
