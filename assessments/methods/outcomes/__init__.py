"""Outcomes of rated trees: tree-years at risk, failures by category, storms with their local gusts.

`spells(ratings, endings, until)` cuts the time at risk (`cut` does so with rows of a whole city),
`report(spells, storms, until)` tells what became of it.
"""

from dataclasses import asdict
from typing import Any

from . import at_risk, storms
from .at_risk import ENDING, ENDINGS, RATED, Ending, Rated, Spell, Spells, cut, spells
from .rates import METHOD, VERSION, Outcomes, Rate, report
from .storms import Storm, StormModel, StormRow

__all__ = [
    "ENDING", "ENDINGS", "METHOD", "METHODS", "RATED", "VERSION", "Ending", "Outcomes", "Rate", "Rated", "Spell",
    "Spells", "Storm", "StormModel", "StormRow", "as_json", "cut", "report", "spells",
]  # fmt: skip

METHODS = tuple(f"{name}/{version}" for name, version in (
    (at_risk.METHOD, at_risk.VERSION), (METHOD, VERSION), (storms.METHOD, storms.VERSION),
))  # fmt: skip
"""The methods that outcomes rest on, each with its version."""


def as_json(found: Outcomes) -> dict[str, Any]:
    """Say outcomes in JSON."""
    told = asdict(found)
    if found.model is not None:
        told["model"]["at_reference"] = {name: asdict(known) for name, known in found.model.at_reference}
    return told | {"method": METHOD, "version": VERSION}
