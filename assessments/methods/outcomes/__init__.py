"""Outcomes of rated trees: tree-years at risk, failures by category, storms with their local gusts.

`spells(ratings, endings, until)` cuts the time at risk, `report(spells, storms, until)` tells what became of it.
"""

from dataclasses import asdict
from typing import Any

from .at_risk import ENDINGS, Ending, Rated, Spell, spells
from .rates import METHOD, VERSION, Outcomes, Rate, report
from .storms import Storm, StormModel, StormRow

__all__ = [
    "ENDINGS", "METHOD", "VERSION", "Ending", "Outcomes", "Rate", "Rated", "Spell", "Storm", "StormModel", "StormRow",
    "as_json", "report", "spells",
]  # fmt: skip


def as_json(found: Outcomes) -> dict[str, Any]:
    """Say outcomes in JSON."""
    told = asdict(found)
    if found.model is not None:
        told["model"]["at_reference"] = {name: asdict(known) for name, known in found.model.at_reference}
    return told | {"method": METHOD, "version": VERSION}
