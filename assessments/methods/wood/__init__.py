"""Green wood by species: density with and without bark, moisture, strength, scatter, drag, each with its source.

A species that the tables lack falls back to its genus, strength at last to density; the answer says so.
"""

from .lookup import Quantity, Wood, find
from .strength import DATA_SETS, Strength, from_density, strength_of

METHOD = "green_wood_by_species"
VERSION = 1

__all__ = [
    "DATA_SETS",
    "METHOD",
    "VERSION",
    "Quantity",
    "Strength",
    "Wood",
    "find",
    "from_density",
    "strength_of",
]
