"""Root zone as a multiple of the stem diameter by the species' tolerance and the tree's age: Matheny & Clark 1998.

Radius in feet per inch of dbh, from memory of the book; of the same order as the 1 ft per inch of municipal codes.
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
import numpy.typing as npt

METHOD: Final = "us_multiple_matheny_clark_1998"
VERSION: Final = 1
SOURCE: Final = "Matheny & Clark 1998, Trees and Development"

DIAMETER_HEIGHT_M: Final = 1.37
INCHES_PER_FOOT: Final = 12.0
TOLERANCES: Final = ("good", "moderate", "poor")
# Young: under 20 % of its life expectancy; mature: 20 to 80 %; overmature: beyond.
AGE_CLASSES: Final = ("young", "mature", "overmature")
FEET_PER_INCH: Final[Mapping[str, Mapping[str, float]]] = {
    "good": {"young": 0.50, "mature": 0.75, "overmature": 1.00},
    "moderate": {"young": 0.75, "mature": 1.00, "overmature": 1.25},
    "poor": {"young": 1.00, "mature": 1.25, "overmature": 1.50},
}


def zone_radius_m(dbh_cm: npt.ArrayLike, tolerance: str, age_class: str) -> npt.NDArray[np.float64]:
    """Give the radius in m for dbh in cm, of any shape; no cap and no minimum. NaN stays NaN.

    Raises ValueError for a negative diameter or an unknown word.

    >>> zone_radius_m(60.96, "moderate", "mature").round(3).tolist()
    7.315
    """
    if tolerance not in TOLERANCES or age_class not in AGE_CLASSES:
        raise ValueError(f"{tolerance!r}, {age_class!r}: not in the table")
    diameter = np.asarray(dbh_cm, np.float64)
    if np.any(diameter < 0):
        raise ValueError("dbh_cm: must not be negative")
    return np.asarray(FEET_PER_INCH[tolerance][age_class] * INCHES_PER_FOOT * diameter / 100)
