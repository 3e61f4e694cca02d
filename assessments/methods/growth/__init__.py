"""Growth: size from age, canopy, biomass and carbon by published equations, what a removal loses and when it returns.

An equation outside its range is held at its end, and a species without one of its own says what stands in.
"""

from .answer import FIELDS, METHOD, VERSION, compute
from .biomass import Carbon, carbon
from .course import Balance, Grower, Stand, balance, crown_area_m2, nothing, planted, reduced, stand
from .predict import REGIONS, Size, age_years, predict

__all__ = [
    "FIELDS",
    "METHOD",
    "REGIONS",
    "VERSION",
    "Balance",
    "Carbon",
    "Grower",
    "Size",
    "Stand",
    "age_years",
    "balance",
    "carbon",
    "compute",
    "crown_area_m2",
    "nothing",
    "planted",
    "predict",
    "reduced",
    "stand",
]
