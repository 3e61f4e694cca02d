"""What an inspector sends, read strictly into a record."""

from typing import Any

from rest_framework import serializers

from api.http.fields import Body, Day, Flag, Instant, Number, Text, Uid, Whole, Word
from api.rest import section_bodies
from api.rest.stem_load_bodies import StemLoadField
from assessments.methods import risk
from assessments.methods.catalogue import FUNGUS_CONFIDENCE, KINDS, PARTS
from assessments.models import inspection, required_check, target
from assessments.records import (
    ActionRecord,
    AskedCheck,
    FindingRecord,
    InspectionRecord,
    RatingRecord,
    TargetRecord,
)
from assessments.sections import MOST_SECTIONS
from inventory.models.zone import OCCUPANCIES

MOST_PARTS = 200


def _maybe(field: type[serializers.Field[Any, Any, Any, Any]], *args: Any, **options: Any) -> Any:
    """A member that may be left out or null."""
    return field(*args, **{"required": False, "allow_null": True, "default": None} | options)


def _text(**options: Any) -> Text:
    """A text that may be left out or empty."""
    return Text(**{"required": False, "allow_blank": True, "default": ""} | options)


def _many(body: Any, most: int = MOST_PARTS) -> Any:
    """A list of parts that may be left out."""
    return body(many=True, required=False, default=list, max_length=most)


class Measures(serializers.DictField):
    """Measures of a finding by name: numbers, true or false, or a word; see GET /api/v1/finding-kinds."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        """Return the mapping. Raises ValidationError naming each value that is none of these."""
        found = super().to_internal_value(data)
        wrong = {name: ["must be a number, true, false or a word"] for name, v in found.items() if not _scalar(v)}
        if wrong:
            raise serializers.ValidationError(wrong)
        return found


def _scalar(value: object) -> bool:
    return isinstance(value, int | float | bool) or (isinstance(value, str) and len(value) <= 100)


class FindingBody(Body):
    """One weakness: kind, part, where it is, and the measures of its kind (see GET /api/v1/finding-kinds)."""

    uid = _maybe(Uid)
    kind = Word(list(KINDS))
    part = Word(list(PARTS))
    part_diameter_cm = _maybe(Number)
    height_m = _maybe(Number, help_text="Height above ground in m.")
    azimuth_deg = _maybe(Number, help_text="Degrees clockwise from north.")
    measures = Measures(required=False, default=dict)
    fungus_genus = _text(max_length=60)
    fungus_confidence = Word(list(FUNGUS_CONFIDENCE), required=False, allow_blank=True, default="")
    continues = _maybe(Uid, help_text="The finding of an earlier inspection of this tree that this one goes on from.")
    note = _text()


class TargetBody(Body):
    """What could be struck. A building, utility or structure is always there: its occupancy is constant."""

    uid = _maybe(Uid)
    kind = Word(target.KINDS)
    label = Text(max_length=200)  # type: ignore[assignment]
    occupancy = Word(OCCUPANCIES)
    exposure = Word(target.EXPOSURES)
    fall_direction = Word(target.FALL_DIRECTIONS, required=False, default="unknown")
    zone = _maybe(Word, target.ZONES)
    movable = Flag(required=False, default=False)
    restrictable = Flag(required=False, default=False)


class RatingBody(Body):
    """The assessor's decision for one part and one target; a reason where it differs from what is suggested."""

    uid = _maybe(Uid)
    part = Word(list(PARTS))
    target = Whole(min_value=0, help_text="Place in `targets`, from 0.")
    finding = _maybe(Whole, min_value=0, help_text="Place in `findings`, from 0.")
    failure = Word(risk.FAILURE)
    impact = Word(risk.IMPACT)
    consequences = Word(risk.CONSEQUENCES)
    why_different = _text()


class AskedCheckBody(Body):
    """A check that the assessor asks for."""

    uid = _maybe(Uid)
    kind = Word(required_check.ASKED_KINDS)
    due_on = Day()
    why = Text()


class ActionsBody(Body):
    """What was done on the spot in an emergency: at least one of the three."""

    uid = _maybe(Uid)
    done_on_spot = _text()
    closed_at = _maybe(Instant)
    told_whom = _text()


class LaterActionsBody(ActionsBody):
    """Answers to an emergency, sent after its inspection."""

    uid = Uid()


class InspectionBody(Body):
    """One look at one tree. The client makes the `uid`: the same uid and content is the same inspection."""

    uid = Uid()
    inspected_at = Instant()
    level = Word(inspection.LEVELS)
    trigger = Word(inspection.TRIGGERS, required=False, default="routine")
    limits = _text(help_text="What could not be seen, and why.")
    frame_years = _maybe(
        Whole, min_value=1, max_value=5, help_text="For how many years the ratings are made: stated with ratings only."
    )
    crown_density_percent = _maybe(Number, min_value=0, max_value=100)
    dieback_percent = _maybe(Number, min_value=0, max_value=100)
    shoot_growth = _maybe(Word, inspection.SHOOT_GROWTH)
    response_growth = _maybe(Word, inspection.RESPONSE_GROWTH)
    wind_exposure = _maybe(Word, inspection.WIND_EXPOSURE)
    wind_change = _maybe(Word, inspection.WIND_CHANGE)
    root_zone_change = _maybe(Word, inspection.ROOT_ZONE_CHANGE)
    past_failure = _maybe(Word, inspection.PAST_FAILURE)
    past_pruning = _maybe(Word, inspection.PAST_PRUNING)
    note = _text()
    findings = _many(FindingBody)
    targets = _many(TargetBody)
    ratings = _many(RatingBody)
    checks = _many(AskedCheckBody)
    sections = _many(section_bodies.SectionBody, MOST_SECTIONS)
    stem_load = StemLoadField(required=False, allow_null=True, default=None)
    emergency = Flag(required=False, default=False, help_text="Someone or something is in danger now.")
    actions = _maybe(ActionsBody)


def record(data: dict[str, Any]) -> InspectionRecord:
    """The record of a checked body."""
    parts = {
        "findings": tuple(FindingRecord(**one) for one in data["findings"]),
        "targets": tuple(TargetRecord(**one) for one in data["targets"]),
        "ratings": tuple(RatingRecord(**one) for one in data["ratings"]),
        "checks": tuple(AskedCheck(**one) for one in data["checks"]),
        "sections": tuple(section_bodies.record(one) for one in data["sections"]),
        "actions": ActionRecord(**data["actions"]) if data["actions"] else None,
    }
    return InspectionRecord(**{**data, **parts})
