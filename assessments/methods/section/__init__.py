"""Residual section of a stem: from readings or drawn shapes to area, modulus in every direction, loss and its interval.

`compute` takes and gives JSON; `assess` takes a `Section` and gives an `Answer`. Both are pure and deterministic.
"""

from typing import Any

from .answer import METHOD, VERSION, Answer, as_json, assess
from .contract import read
from .outline import Outline, circle, drawn
from .readings import Crack, Opening, Reading, Section

__all__ = [
    "METHOD", "VERSION", "Answer", "Crack", "Opening", "Outline", "Reading", "Section", "as_json", "assess", "circle",
    "compute", "drawn", "read",
]  # fmt: skip


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a section from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> answer = compute({"diameter_cm": 80, "voids_cm": [[[-10, -10], [10, -10], [10, 10], [-10, 10]]]})
    >>> answer["thinnest_wall_cm"], answer["pieces"]
    (25.85786, 1)
    """
    return as_json(assess(read(request)))
