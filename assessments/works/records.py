"""What is sent about orders, as frozen dataclasses: wishes for items, a contractor's report, a verdict."""

import uuid
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class ItemWish:
    """One action that is wanted on one tree; what is left out follows from the tree's priority and the order."""

    tree: uuid.UUID
    action: str
    reason: str = ""
    due_on: date | None = None
    finding: uuid.UUID | None = None


@dataclass(frozen=True)
class ReportRecord:
    """What a contractor reports of one item. `stump_ground` belongs to a felling, the support's kind and height (m)
    to an installed support, the botanical name to a planting."""

    uid: uuid.UUID
    outcome: str
    worked_at: datetime
    reason: str = ""
    note: str = ""
    stump_ground: bool = False
    support_kind: str | None = None
    support_height_m: float | None = None
    species: str | None = None


@dataclass(frozen=True)
class VerdictRecord:
    """What the municipality decides of reported work: accepted, returned, or agreed as not done.

    `tree_stands`: of a returned felling, that the tree was not felled at all.
    """

    uid: uuid.UUID
    verdict: str
    note: str = ""
    verified_at: datetime | None = None
    tree_stands: bool = False
