"""An opinion on what a column is, and how values and heading together make it sure.

The weights are the project's choice (common practice, no source): heading and values that agree are near certain,
values alone may decide, a heading against its values does not.
"""

from collections.abc import Callable
from dataclasses import dataclass

from inventory.intake.headings import named
from inventory.intake.profile import Profile

AGREE, VALUES_ONLY = 0.95, 0.6


@dataclass(frozen=True)
class Opinion:
    """A role that a column may have: how sure (0 to 1), why, and the unit or form that goes with it."""

    role: str
    confidence: float
    evidence: str
    unit: str = ""
    format: str = ""
    # The unit that is nearly as believable, where neither heading nor cells name one.
    rival: str = ""


Judge = Callable[[Profile], Opinion | None]


def weigh(role: str, profile: Profile, values: float, alone: float = VALUES_ONLY) -> float:
    """Confidence from the share of values that fit (0 to 1) and from the heading."""
    return values * (alone + (AGREE - alone) * named(role, profile.heading))


def says(role: str, profile: Profile) -> str:
    """The part of the evidence that is the heading's; empty where it does not name the role."""
    return f"the heading {profile.heading!r} says so; " if named(role, profile.heading) else ""
