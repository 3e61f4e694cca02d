"""Truth against judgement: what was predicted of a tree beside what its opened stem showed.

`compute` takes and gives JSON; `compare` takes a rebuilt stem and a `Predicted`. `rows` is what calibration learns.
"""

from .answer import as_json, compute
from .compare import METHOD, VERSION, Comparison, HeightTruth, Summary, compare, rows
from .faults import CrackTruth, DecayTruth, Told
from .predicted import AtHeight, Predicted, Thresholds, estimate_of, method_of
from .signs import species_group

__all__ = [
    "METHOD", "VERSION", "AtHeight", "Comparison", "CrackTruth", "DecayTruth", "HeightTruth", "Predicted", "Summary",
    "Thresholds", "Told", "as_json", "compare", "compute", "estimate_of", "method_of", "rows",
    "species_group",
]  # fmt: skip
