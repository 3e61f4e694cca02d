"""Builders for inspections: records with the least that the rules allow, and records of a given risk."""

import uuid
from datetime import UTC, date, datetime, time
from typing import Any

from assessments import services
from assessments.models import Inspection
from assessments.records import FindingRecord, InspectionRecord, RatingRecord, TargetRecord
from inventory.history import SERVICE, Author
from inventory.models import Tree

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)

# Decided words of each risk class, by the published matrices.
WORDS = {
    "low": ("improbable", "low", "minor"),
    "moderate": ("probable", "high", "minor"),
    "high": ("probable", "high", "severe"),
    "extreme": ("imminent", "high", "severe"),
}


def noon(on: date) -> datetime:
    """Noon of a day in UTC."""
    return datetime.combine(on, time(12), UTC)


def finding(kind: str = "decay", part: str = "stem", **fields: Any) -> FindingRecord:
    """A finding; without measures of its own one of moderate decay of the stem."""
    fields.setdefault("measures", {"indicator": "hollow_sound", "extent": "moderate"})
    return FindingRecord(kind=kind, part=part, **fields)


def target(kind: str = "people", **fields: Any) -> TargetRecord:
    """A target; people on a footpath unless told otherwise."""
    return TargetRecord(
        kind=kind,
        label=fields.pop("label", "footpath"),
        occupancy=fields.pop("occupancy", "constant" if kind in ("building", "utility", "structure") else "frequent"),
        exposure=fields.pop("exposure", "full"),
        **fields,
    )


def rating(risk: str = "low", **fields: Any) -> RatingRecord:
    """A rating decided so that it comes out at a risk class, whatever is suggested."""
    failure, impact, consequences = WORDS[risk]
    words = {"failure": failure, "impact": impact, "consequences": consequences}
    return RatingRecord(
        part=fields.pop("part", "stem"),
        target=fields.pop("target", 0),
        why_different=fields.pop("why_different", "seen on the spot"),
        **(words | fields),
    )


def record(on: date = TODAY, **fields: Any) -> InspectionRecord:
    """A basic inspection at noon of a day in which nothing was found."""
    return InspectionRecord(
        uid=fields.pop("uid", None) or uuid.uuid4(),
        inspected_at=fields.pop("inspected_at", None) or noon(on),
        level=fields.pop("level", "basic"),
        **fields,
    )


def rated(risk: str = "low", on: date = TODAY, **fields: Any) -> InspectionRecord:
    """A basic inspection with one target and one rating of a risk class, for three years."""
    return record(on, targets=(target(),), ratings=(rating(risk),), frame_years=3, **fields)


def inspected(tree: Tree, given: InspectionRecord | None = None, author: Author = SERVICE, **fields: Any) -> Inspection:
    """Store an inspection of a tree (a new record made from `fields` unless one is given)."""
    return services.record_inspection(author, tree, given or record(**fields), TODAY, now=NOW)[0]
