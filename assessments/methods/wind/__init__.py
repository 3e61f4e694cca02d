"""Wind on a crown: speed by height, gust of a mean, pressure; shapes of crowns; force and moment, a tree or a city."""

from .crown import SHAPES, Crowns, force_kn, moment_knm
from .profile import AVERAGING, EXPONENTS, Wind

METHOD = "static_wind_on_crown"
VERSION = 1

__all__ = [
    "AVERAGING",
    "EXPONENTS",
    "METHOD",
    "SHAPES",
    "VERSION",
    "Crowns",
    "Wind",
    "force_kn",
    "moment_knm",
]
