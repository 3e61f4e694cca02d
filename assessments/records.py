"""What an inspector sends: the record of one inspection, as frozen dataclasses, and its fingerprint.

Findings and targets are named by their place in the record (0, 1, ...) where a rating refers to them.
"""

import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from assessments.methods.catalogue import Value

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


@dataclass(frozen=True)
class FindingRecord:
    """One weakness. `continues` is the uid of a finding of an earlier inspection of the same tree."""

    kind: str
    part: str
    part_diameter_cm: float | None = None
    height_m: float | None = None
    azimuth_deg: float | None = None
    measures: Mapping[str, Value] = field(default_factory=dict)
    fungus_genus: str = ""
    fungus_confidence: str = ""
    continues: uuid.UUID | None = None
    note: str = ""
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class SectionRecord:
    """What was measured at one height: the request of methods/section. `finding` is the place of what it looks into."""

    measured: Mapping[str, Any]
    finding: int | None = None
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class StemLoadRecord:
    """Crown and stem for a stem load: the request of methods/stem_load, without the sections of the inspection.

    Species, height, girth and crown width are the tree's and the wind is the city's where it says nothing of them.
    """

    measured: Mapping[str, Any]
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class TargetRecord:
    """What could be struck. A building, utility or structure is always there: its occupancy is constant."""

    kind: str
    label: str
    occupancy: str
    exposure: str
    fall_direction: str = "unknown"
    zone: str | None = None
    movable: bool = False
    restrictable: bool = False
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class RatingRecord:
    """One part and one target, as the assessor decided. `target` and `finding` are places in the record."""

    part: str
    target: int
    failure: str
    impact: str
    consequences: str
    finding: int | None = None
    why_different: str = ""
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class AskedCheck:
    """A check that the assessor asks for."""

    kind: str
    due_on: date
    why: str
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class ActionRecord:
    """What was done on the spot in an emergency. At least one of the three is given."""

    uid: uuid.UUID | None = None
    done_on_spot: str = ""
    closed_at: datetime | None = None
    told_whom: str = ""


@dataclass(frozen=True)
class InspectionRecord:
    """One look at one tree. `frame_years` (1 to 5) is stated if and only if there are ratings."""

    uid: uuid.UUID
    inspected_at: datetime
    level: str
    trigger: str = "routine"
    limits: str = ""
    frame_years: int | None = None
    crown_density_percent: float | None = None
    dieback_percent: float | None = None
    shoot_growth: str | None = None
    response_growth: str | None = None
    wind_exposure: str | None = None
    wind_change: str | None = None
    root_zone_change: str | None = None
    past_failure: str | None = None
    past_pruning: str | None = None
    note: str = ""
    findings: tuple[FindingRecord, ...] = ()
    targets: tuple[TargetRecord, ...] = ()
    ratings: tuple[RatingRecord, ...] = ()
    checks: tuple[AskedCheck, ...] = ()
    emergency: bool = False
    actions: ActionRecord | None = None
    sections: tuple[SectionRecord, ...] = ()
    stem_load: StemLoadRecord | None = None


def fingerprint(subject: uuid.UUID, record: "DataclassInstance") -> str:
    """SHA-256 of the canonical JSON of a record and what it is about: keys in order, instants in UTC."""
    parts = asdict(record)
    if not parts.get("sections", True):
        del parts["sections"]  # a record without sections says what it said before there were any
    if parts.get("stem_load", True) is None:
        del parts["stem_load"]
    said = {"about": subject, "record": parts}
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), default=_plain, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> str:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)


def part_uid(record: InspectionRecord, noun: str, place: int, given: uuid.UUID | None) -> uuid.UUID:
    """The uid of a part of a record: as given, else always the same one for the same place in the same record."""
    return given or uuid.uuid5(record.uid, f"{noun}/{place}")
