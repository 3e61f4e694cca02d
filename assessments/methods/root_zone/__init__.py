"""Root zones of trees by published standards, and the exact share of one that works take.

`compute` takes and gives JSON. The names of BS 5837 stand here too, for those who ask by that standard alone.
A first distance for planning, not the extent of the roots; local codes and an arborist on site come first.
"""

from .answer import compute
from .bs5837 import (
    DIAMETER_HEIGHT_M,
    METHOD,
    RADIUS_CAP_M,
    RADIUS_PER_DIAMETER,
    SOURCE,
    VALIDITY,
    VERSION,
    combined_diameter_cm,
    protection_area_m2,
    protection_radius_m,
)

__all__ = [
    "DIAMETER_HEIGHT_M", "METHOD", "RADIUS_CAP_M", "RADIUS_PER_DIAMETER", "SOURCE", "VALIDITY", "VERSION",
    "combined_diameter_cm", "compute", "protection_area_m2", "protection_radius_m",
]  # fmt: skip
