"""Rules of inspections that need no database: what a record must hold, what is an emergency, what closes a check."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import fields
from datetime import date, datetime, timedelta
from typing import Final

from assessments import sections
from assessments.methods import findings as methods
from assessments.methods import risk
from assessments.methods.catalogue import PARTS
from assessments.methods.findings import TreeFacts
from assessments.models import Inspection, RequiredCheck, inspection, required_check, target
from assessments.records import (
    ActionRecord,
    FindingRecord,
    InspectionRecord,
    RatingRecord,
    TargetRecord,
)
from inventory.models.zone import OCCUPANCIES
from inventory.problems import FieldProblem

Problems = Iterator[FieldProblem]

# An emergency that reaches us later than this is a fact like others, but pages nobody. Project's choice.
EMERGENCY_FRESH: Final = timedelta(hours=24)
# A tree with an emergency is looked at again within this time, whatever was done. Project's choice.
EMERGENCY_FOLLOW_UP: Final = timedelta(days=7)

_WORDS: Final = {
    "level": inspection.LEVELS,
    "trigger": inspection.TRIGGERS,
    "shoot_growth": inspection.SHOOT_GROWTH,
    "response_growth": inspection.RESPONSE_GROWTH,
    "wind_exposure": inspection.WIND_EXPOSURE,
    "wind_change": inspection.WIND_CHANGE,
    "root_zone_change": inspection.ROOT_ZONE_CHANGE,
    "past_failure": inspection.PAST_FAILURE,
    "past_pruning": inspection.PAST_PRUNING,
}
_NEEDED: Final = ("level", "trigger")
_TARGET_WORDS: Final = {
    "kind": target.KINDS,
    "occupancy": OCCUPANCIES,
    "exposure": target.EXPOSURES,
    "fall_direction": target.FALL_DIRECTIONS,
    "zone": (*target.ZONES, None),
}
_RATING_WORDS: Final = {
    "part": tuple(PARTS),
    "failure": risk.FAILURE,
    "impact": risk.IMPACT,
    "consequences": risk.CONSEQUENCES,
}


def problems(record: InspectionRecord, facts: TreeFacts, inspected_on: date, today: date) -> list[FieldProblem]:
    """Everything that is wrong with a record by itself, with JSON pointers into what was sent."""
    return [
        *_instant("#/inspected_at", record.inspected_at, inspected_on, today),
        *_condition(record),
        *(p for n, one in enumerate(record.findings) for p in _finding(f"#/findings/{n}", one, facts)),
        *(p for n, one in enumerate(record.targets) for p in _target(f"#/targets/{n}", one)),
        *_ratings(record),
        *_checks(record, inspected_on),
        *_continued_once(record),
        *(action_problems(record.actions, "#/actions") if record.actions else ()),
        *sections.problems(record, facts.height_m),
    ]


def _instant(pointer: str, at: datetime, on: date, today: date) -> Problems:
    if on > today:
        yield FieldProblem(pointer, f"{on.isoformat()} lies in the future")


def _word(pointer: str, value: object, words: Iterable[object]) -> Problems:
    if value not in words:
        known = ", ".join(str(word) for word in words if word is not None)
        yield FieldProblem(pointer, f"{value!r} is not one of {known}")


def _condition(record: InspectionRecord) -> Problems:
    for name, words in _WORDS.items():
        value = getattr(record, name)
        if value is not None or name in _NEEDED:
            yield from _word(f"#/{name}", value, words)
    for name in ("crown_density_percent", "dieback_percent"):
        value = getattr(record, name)
        if value is not None and not 0 <= value <= 100:
            yield FieldProblem(f"#/{name}", "must be 0 to 100")


def _finding(pointer: str, one: FindingRecord, facts: TreeFacts) -> Problems:
    for problem in methods.check(finding(one), facts):
        yield FieldProblem(f"{pointer}/{problem.field.replace('.', '/')}", problem.detail)


def finding(one: FindingRecord) -> methods.Finding:
    """The finding as the methods take it."""
    names = {field.name for field in fields(methods.Finding)}
    return methods.Finding(**{name: getattr(one, name) for name in names})


def _target(pointer: str, one: TargetRecord) -> Problems:
    for name, words in _TARGET_WORDS.items():
        yield from _word(f"{pointer}/{name}", getattr(one, name), words)
    if not one.label.strip():
        yield FieldProblem(f"{pointer}/label", "say what the target is")
    if one.kind in target.STATIC_KINDS and one.occupancy != "constant":
        yield FieldProblem(f"{pointer}/occupancy", f"a {one.kind} is always there: must be constant")


def _ratings(record: InspectionRecord) -> Problems:
    if record.ratings and record.frame_years is None:
        yield FieldProblem("#/frame_years", "state for how many years (1 to 5) the ratings are made")
    elif record.frame_years is not None and not record.ratings:
        yield FieldProblem("#/frame_years", "there is no rating that it could be the time frame of")
    elif record.frame_years is not None and record.frame_years not in range(1, 6):
        yield FieldProblem("#/frame_years", "must be 1 to 5 whole years")
    seen: set[tuple[str, int, int | None]] = set()
    for place, one in enumerate(record.ratings):
        pointer = f"#/ratings/{place}"
        yield from _rating(pointer, one, record)
        if (key := (one.part, one.target, one.finding)) in seen:
            yield FieldProblem(pointer, "this part and target are rated already")
        seen.add(key)


def _rating(pointer: str, one: RatingRecord, record: InspectionRecord) -> Problems:
    for name, words in _RATING_WORDS.items():
        yield from _word(f"{pointer}/{name}", getattr(one, name), words)
    if not 0 <= one.target < len(record.targets):
        yield FieldProblem(f"{pointer}/target", f"there is no target {one.target} in this record")
    if one.finding is None:
        return
    if not 0 <= one.finding < len(record.findings):
        yield FieldProblem(f"{pointer}/finding", f"there is no finding {one.finding} in this record")
    elif (part := record.findings[one.finding].part) != one.part:
        yield FieldProblem(f"{pointer}/part", f"the finding it rates is at the {part}")


def _checks(record: InspectionRecord, inspected_on: date) -> Problems:
    for place, one in enumerate(record.checks):
        pointer = f"#/checks/{place}"
        yield from check_problems(pointer, one.kind, one.why)
        if one.due_on < inspected_on:
            yield FieldProblem(f"{pointer}/due_on", "is due before the inspection that asks for it")


def check_problems(pointer: str, kind: str, why: str) -> Problems:
    """What is wrong with a check that is asked for."""
    yield from _word(f"{pointer}/kind", kind, required_check.ASKED_KINDS)
    if not why.strip():
        yield FieldProblem(f"{pointer}/why", "say why it must be seen again")


def _continued_once(record: InspectionRecord) -> Problems:
    seen = set()
    for place, one in enumerate(record.findings):
        if one.continues and one.continues in seen:
            yield FieldProblem(f"#/findings/{place}/continues", "another finding of this record continues it already")
        seen.add(one.continues)


def action_problems(action: ActionRecord, pointer: str = "#") -> Problems:
    """What is wrong with the answers of an emergency."""
    if not (action.done_on_spot.strip() or action.closed_at or action.told_whom.strip()):
        yield FieldProblem(pointer, "say what was done, when it was closed off, or who was told")


def unanswered(actions: Iterable[ActionRecord]) -> tuple[str, ...]:
    """Which answers of an emergency are still missing after all that was recorded."""
    given = list(actions)
    return tuple(
        name
        for name in ("done_on_spot", "closed_at", "told_whom")
        if not any(getattr(action, name) for action in given)
    )


def emergency_cause(record: InspectionRecord) -> str:
    """Why a record is an emergency, empty where it is none.

    Extreme risk; an imminent failure with a target present (an impact that is more than very unlikely); or the
    inspector says so.
    """
    decided = list(record.ratings)
    if any(risk.rate(one.failure, one.impact, one.consequences) == "extreme" for one in decided):
        return "extreme_risk"
    if any(one.failure == "imminent" and one.impact != "very_low" for one in decided):
        return "imminent_failure"
    return "declared" if record.emergency else ""


def age_hours(inspected_at: datetime, now: datetime) -> float:
    """How long ago it was seen, in hours to one decimal."""
    return math.floor((now - inspected_at) / timedelta(minutes=6)) / 10


# The least level of an inspection that satisfies each kind of check: project's choice.
_LEAST_LEVEL: Final = {
    "reinspect": "basic",
    "advanced_diagnosis": "advanced",
    "after_work": "limited_visual",
    "support": "basic",
    "storm": "limited_visual",
    "excavation": "basic",
    "root_collar": "basic",
    "other": "basic",
}


# A cable is looked at once a year: a look for another reason soon after it was installed is not that look.
_SUPPORT_EARLY: Final = timedelta(days=90)  # project's choice


def satisfies(seen: Inspection, check: RequiredCheck) -> bool:
    """Tell whether an inspection closes a check of its tree.

    Thorough enough for the kind, and made since: on the day a desk asked or later (but not sent in before it asked),
    or after the inspection that asked. A support is looked at near its date. A bare emergency note, without ratings,
    closes nothing; the end of a decision is settled by the next decision alone.
    """
    if check.kind == "decision_end" or (seen.emergency and seen.frame_years is None):
        return False
    if inspection.LEVELS.index(seen.level) < inspection.LEVELS.index(_LEAST_LEVEL[check.kind]):
        return False
    if check.kind == "support" and seen.inspected_on < check.due_on - _SUPPORT_EARLY:
        return False
    if check.inspection is not None:
        return seen.inspected_at > check.inspection.inspected_at
    return seen.inspected_on >= check.asked_on and seen.received_at >= check.asked_at
