"""Dissection of a felled stem: from its cuts to the found sections, cracks and decay columns along the height, masses.

`compute` takes and gives JSON; `rebuild` takes a `Request` and gives a `Rebuilt`. Both are pure.
"""

from typing import Any

from .answer import METHOD, VERSION, Face, Rebuilt, as_json, rebuild
from .columns import Column
from .contract import Cut, Request, Weighed, check_cut, read
from .masses import Mass, Masses
from .tracks import Seen, Track

__all__ = [
    "METHOD", "VERSION", "Column", "Cut", "Face", "Mass", "Masses", "Rebuilt", "Request", "Seen", "Track", "Weighed",
    "as_json", "check_cut", "compute", "read", "rebuild",
]  # fmt: skip


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Rebuild a stem from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> compute({"cuts": [{"height_m": 0.3, "diameter_cm": 52}]})["cuts"][0]["t_over_r"]
    1.0
    """
    return as_json(rebuild(read(request)))
