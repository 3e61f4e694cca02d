"""Options for an inspected tree: proposed, worked out, compared and valued; nothing is selected, people decide."""

from .catalogue import ENTRIES, KINDS
from .compare import Compared, Measures, compare
from .contract import (
    Assumptions,
    Case,
    Check,
    Choice,
    CostYear,
    Effect,
    LoadYear,
    Option,
    Own,
    Rated,
    Residual,
    RiskYear,
    Site,
    Standing,
    Target,
)
from .diagnosis import value_of_diagnosis
from .propose import METHOD, VERSION, build, propose
from .reading import read_choice
from .saying import as_json, compared_as_json

__all__ = [
    "ENTRIES",
    "KINDS",
    "METHOD",
    "VERSION",
    "Assumptions",
    "Case",
    "Check",
    "Choice",
    "Compared",
    "CostYear",
    "Effect",
    "LoadYear",
    "Measures",
    "Option",
    "Own",
    "Rated",
    "Residual",
    "RiskYear",
    "Site",
    "Standing",
    "Target",
    "as_json",
    "build",
    "compare",
    "compared_as_json",
    "propose",
    "read_choice",
    "value_of_diagnosis",
]
