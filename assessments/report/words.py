"""The words for the codes that are kept of what was found and concluded, for pages and documents alike."""

from typing import Final

from assessments.methods import risk
from assessments.methods.catalogue import KINDS, PARTS
from inventory import units

# A code that is not listed is shown with spaces for its underscores.
WORDS: Final[dict[str, str]] = {
    # trees and sites
    "alive": "Alive",
    "dead": "Standing dead",
    "stump": "Stump",
    "removed": "Removed",
    "cutout": "Pavement cut-out",
    "strip": "Planting strip",
    "low_voltage": "Low voltage",
    "high_voltage": "High voltage",
    "communication": "Communication cable",
    "size_class": "Size class from the city's file",
    "city_file": "City's file",
    "brace_rod": "Brace rod",
    # inspections
    "limited_visual": "Limited visual",
    "basic": "Basic",
    "advanced": "Advanced",
    "follow_up": "Follow-up",
    "one_height": "Within one tree height",
    "one_and_half_heights": "Within one and a half tree heights",
    "drip_line": "Under the crown",
    "reinspect": "Inspect again",
    "advanced_diagnosis": "Advanced diagnosis",
    "after_work": "Inspect after work",
    "root_collar": "Root collar examination",
    "decision_end": "The decision's conditions end",
    "storm": "After a storm",
    "excavation": "After digging nearby",
    "imminent_failure": "Imminent failure",
    "extreme_risk": "Extreme risk",
    "declared": "Called by the inspector",
    "si": "Metric",
    "us": "US customary",
}
RISK_WORDS: Final = ("Not rated", *(one.capitalize() for one in risk.RISK))


def say(code: object) -> str:
    """Give the words for a code.

    >>> say("limited_visual"), say("flush_cut"), say(None)
    ('Limited visual', 'Flush cut', '')
    """
    text = "" if code is None else str(code)
    return WORDS.get(text) or text.replace("_", " ")[:1].upper() + text.replace("_", " ")[1:]


def finding_kind(code: str) -> str:
    """Give the label of a kind of finding."""
    return KINDS[code].label if code in KINDS else say(code)


def part(code: str) -> str:
    """Give the label of a part of a tree."""
    return PARTS[code].label if code in PARTS else say(code)


def measures(kind: str, values: dict[str, object], system: str = units.SI) -> list[str]:
    """Say the measures of a finding, each with its label and unit.

    >>> measures("lean", {"angle_deg": 12, "fresh_signs": True})
    ['Angle from vertical 12\u00a0degrees', 'Fresh soil crack or mound or exposed roots']
    """
    known = KINDS[kind].measures if kind in KINDS else {}
    said = []
    for name, value in values.items():
        label = known[name].label if name in known else say(name)
        if value is True:
            said.append(label)
        elif isinstance(value, int | float):
            unit = known[name].unit if name in known else ""
            said.append(f"{label} {units.quantity(value, unit, system)}" if value is not False else f"{label}: no")
        else:
            said.append(f"{label}: {say(value).lower()}")
    return said
