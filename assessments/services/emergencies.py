"""Emergencies: what was done on the spot, recorded with the inspection or later, and what the answer must say."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from assessments import rules
from assessments.models import EmergencyAction, Inspection
from assessments.records import ActionRecord, fingerprint
from inventory import events, queries
from inventory.history import Author
from inventory.problems import Conflict, Invalid


@dataclass(frozen=True)
class Emergency:
    """The answer to an emergency: the number to call, what is still unanswered, and whether it came late."""

    cause: str
    phone: str
    unanswered: tuple[str, ...]
    age_hours: float
    late: bool

    @property
    def advice(self) -> str:
        """What to do now, in a sentence or two."""
        if self.late:
            return (
                f"Seen {self.age_hours:g} hours before it reached the service: recorded, but nobody is paged as if it "
                f"were now. Is the danger still there, call {self.phone}."
            )
        return f"Call {self.phone} if anyone is in danger. Keep people away; wait for help where it is safe."


def answer(inspection: Inspection, actions: Sequence[ActionRecord | EmergencyAction], now: datetime) -> Emergency:
    """What the inspector is told at once."""
    given = [ActionRecord(one.uid, one.done_on_spot, one.closed_at, one.told_whom) for one in actions]
    age = now - inspection.inspected_at
    return Emergency(
        cause=inspection.emergency,
        phone=queries.municipality().emergency_phone,
        unanswered=rules.unanswered(given),
        age_hours=rules.age_hours(inspection.inspected_at, now),
        late=age > rules.EMERGENCY_FRESH,
    )


def record_actions(author: Author, inspection: Inspection, action: ActionRecord) -> tuple[EmergencyAction, bool]:
    """Add what was done on the spot. Never replaces what is there: what was told first stays told.

    The same uid and content give the stored row (and False). Raises Invalid, or Conflict for a uid with other content
    or an inspection that is no emergency.
    """
    if wrong := list(rules.action_problems(action)):
        raise Invalid.fields(wrong)
    uid = action.uid or uuid.uuid4()
    sha256 = fingerprint(inspection.uid, action)
    with author.acting("done on the spot"):
        Inspection.objects.select_for_update().get(pk=inspection.pk)
        stored = EmergencyAction.objects.filter(uid=uid).first()
        if stored is not None:
            if stored.content_sha256 != sha256:
                raise Conflict(f"actions {uid} are recorded already with other content")
            return stored, False
        if not inspection.emergency:
            raise Conflict("this inspection is no emergency")
        row = action_row(author, inspection, action, uid)
        row.save(force_insert=True)
        events.record(author, "emergency.answered", "inspection", inspection.uid, tree_id=inspection.tree_id)
    return row, True


def action_row(author: Author, inspection: Inspection, action: ActionRecord, uid: uuid.UUID) -> EmergencyAction:
    """The row of what was done on the spot, not yet saved."""
    return EmergencyAction(
        uid=uid,
        content_sha256=fingerprint(inspection.uid, action),
        inspection=inspection,
        done_on_spot=action.done_on_spot,
        closed_at=action.closed_at,
        told_whom=action.told_whom,
        recorded_by_id=author.user_id,
    )
