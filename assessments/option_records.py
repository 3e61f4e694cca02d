"""What is sent of options and decisions, as frozen dataclasses."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from assessments.records import AskedCheck


@dataclass(frozen=True)
class Residual:
    """The words of risk that remain of one rating of the inspection, after an option, as the arborist judges."""

    rating: uuid.UUID
    failure: str
    impact: str
    consequences: str


@dataclass(frozen=True)
class OptionRecord:
    """An option that the arborist adds: a kind of the catalogue with its parameters, and what it states itself."""

    uid: uuid.UUID
    kind: str
    parameters: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""
    act_by: date | None = None
    own_cost: Decimal | None = None
    own_crew_hours: float | None = None
    own_residual: tuple[Residual, ...] | None = None
    own_why: str = ""


@dataclass(frozen=True)
class DecisionRecord:
    """Who decided for an option, when and why. `checks`: None takes over those that the option commits to.

    `decided_by` and `office`: name and office of the owner or who acts for it, who need not have an account.
    """

    uid: uuid.UUID
    decided_on: date
    decided_by: str
    office: str
    why: str
    conditions: str = ""
    accepted_risk: str = ""
    ends_on: date | None = None
    act_by: date | None = None
    checks: tuple[AskedCheck, ...] | None = None
