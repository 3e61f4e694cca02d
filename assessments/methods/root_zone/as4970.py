"""AS 4970: root zone of 12 x stem diameter at 1.4 m, 2 to 15 m, the structural root zone, classes of encroachment.

Editions 2009 and 2025. The clamps of 2009 and its classes are from memory; the limits of the three tiers of 2025
could not be established and are not invented.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

METHOD: Final = "as4970"
VERSION: Final = 1
SOURCE: Final = "AS 4970, Protection of trees on development sites"

EDITIONS: Final = ("2009", "2025")
DIAMETER_HEIGHT_M: Final = 1.4
RADIUS_PER_DIAMETER: Final = 12.0
LEAST_M: Final = 2.0
MOST_M: Final = 15.0
MINOR_SHARE: Final = 0.10
# Structural root zone: (D x 50)^0.42 x 0.64 m with D above the root crown in m, 1.5 m for thin stems.
STRUCTURAL_LEAST_DIAMETER_CM: Final = 15.0
STRUCTURAL_LEAST_M: Final = 1.5


def zone_radius_m(stem_diameter_cm: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Give the radius in m of the zone (tree protection zone of 2009, notional root zone of 2025), of any shape.

    Raises ValueError for a negative diameter; NaN stays NaN.

    >>> zone_radius_m([12.0, 45.0, 140.0]).tolist()
    [2.0, 5.4, 15.0]
    """
    diameter = np.asarray(stem_diameter_cm, np.float64)
    if np.any(diameter < 0):
        raise ValueError("stem_diameter_cm: must not be negative")
    return np.asarray(np.clip(RADIUS_PER_DIAMETER * diameter / 100, LEAST_M, MOST_M))


def structural_radius_m(root_crown_diameter_cm: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Give the radius in m of the structural root zone from the diameter above the root crown, of any shape.

    Raises ValueError for a negative diameter; NaN stays NaN.

    >>> structural_radius_m([14.0, 75.0]).round(3).tolist()
    [1.5, 2.933]
    """
    diameter = np.asarray(root_crown_diameter_cm, np.float64)
    if np.any(diameter < 0):
        raise ValueError("root_crown_diameter_cm: must not be negative")
    formula = (diameter / 100 * 50) ** 0.42 * 0.64
    return np.asarray(np.where(diameter < STRUCTURAL_LEAST_DIAMETER_CM, STRUCTURAL_LEAST_M, formula))


def palm_radius_m(edition: str, crown_radius_m: float | None) -> float:
    """Give the radius for a palm, cycad or tree fern: 2009: 1 m outside the crown; 2025: 2 m at least.

    Raises ValueError where the edition of 2009 is asked without the crown.

    >>> palm_radius_m("2009", 2.5), palm_radius_m("2025", None)
    (3.5, 2.0)
    """
    if edition == "2025":
        return LEAST_M
    if crown_radius_m is None:
        raise ValueError("crown_radius_m: is needed by the edition of 2009")
    return crown_radius_m + 1.0
