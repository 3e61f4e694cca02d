"""What an inspection, its suggestions and its defects look like when they are shown."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.decay_growth_shapes import DecayComputed, DecayGrowthShown
from api.rest.section_shapes import SectionComputed, SectionShown
from api.rest.stem_load_shapes import StemLoadComputed, StemLoadShown
from assessments.methods import risk
from assessments.methods.catalogue import KINDS
from assessments.queries.growths import growths_of


class FindingShown(serializers.Serializer[Any]):
    """A finding as recorded."""

    uid = serializers.UUIDField()
    kind = serializers.CharField()
    label = serializers.SerializerMethodField()  # type: ignore[assignment]
    part = serializers.CharField()
    part_diameter_cm = serializers.FloatField(allow_null=True)
    height_m = serializers.FloatField(allow_null=True)
    azimuth_deg = serializers.FloatField(allow_null=True)
    measures = serializers.DictField()
    fungus_genus = serializers.CharField()
    fungus_confidence = serializers.CharField(allow_null=True)
    continues = serializers.UUIDField(source="continues.uid", allow_null=True, default=None)
    note = serializers.CharField()

    def get_label(self, row: Any) -> str:
        """The kind in words."""
        return KINDS[row.kind].label if row.kind in KINDS else str(row.kind)


class TargetShown(serializers.Serializer[Any]):
    """A target as recorded."""

    uid = serializers.UUIDField()
    kind = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    occupancy = serializers.CharField()
    exposure = serializers.CharField()
    fall_direction = serializers.CharField()
    zone = serializers.CharField(allow_null=True)
    movable = serializers.BooleanField()
    restrictable = serializers.BooleanField()


class RatingShown(serializers.Serializer[Any]):
    """A rating: what was suggested and on what it rests, what was decided and why, and the risk."""

    uid = serializers.UUIDField()
    part = serializers.CharField()
    target = serializers.UUIDField(source="target.uid")
    finding = serializers.UUIDField(source="finding.uid", allow_null=True, default=None)
    failure_suggested = serializers.CharField(allow_null=True)
    failure = serializers.CharField()
    impact_suggested = serializers.CharField(allow_null=True)
    impact = serializers.CharField()
    consequences = serializers.CharField()
    why_different = serializers.CharField()
    failure_and_impact = serializers.CharField()
    risk = serializers.CharField()
    suggestion = serializers.DictField()
    method_version = serializers.CharField()


class ActionsShown(serializers.Serializer[Any]):
    """What was done on the spot."""

    uid = serializers.UUIDField()
    done_on_spot = serializers.CharField()
    closed_at = serializers.DateTimeField(allow_null=True)
    told_whom = serializers.CharField()
    received_at = serializers.DateTimeField()


class CheckShown(serializers.Serializer[Any]):
    """A required check; open while `closed_on` is null."""

    uid = serializers.UUIDField()
    kind = serializers.CharField()
    due_on = serializers.DateField()
    why = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]
    asked_on = serializers.DateField()
    closed_on = serializers.DateField(allow_null=True)
    withdrawn_why = serializers.CharField()


class InspectionShown(serializers.Serializer[Any]):
    """An inspection as recorded, with all its parts."""

    uid = serializers.UUIDField()
    tree = serializers.UUIDField(source="tree.uid")
    inspector = serializers.CharField(source="inspector.name", allow_null=True, default=None)
    inspected_at = serializers.DateTimeField()
    inspected_on = serializers.DateField()
    received_at = serializers.DateTimeField()
    level = serializers.CharField()
    trigger = serializers.CharField()
    limits = serializers.CharField()
    frame_years = serializers.IntegerField(allow_null=True)
    crown_density_percent = serializers.FloatField(allow_null=True)
    dieback_percent = serializers.FloatField(allow_null=True)
    shoot_growth = serializers.CharField(allow_null=True)
    response_growth = serializers.CharField(allow_null=True)
    wind_exposure = serializers.CharField(allow_null=True)
    wind_change = serializers.CharField(allow_null=True)
    root_zone_change = serializers.CharField(allow_null=True)
    past_failure = serializers.CharField(allow_null=True)
    past_pruning = serializers.CharField(allow_null=True)
    note = serializers.CharField()
    risk = serializers.SerializerMethodField(help_text="The worst of the ratings; empty where nothing was rated.")
    emergency = serializers.CharField(help_text="Why it is an emergency; empty where it is none.")
    findings = FindingShown(many=True)
    sections = SectionShown(many=True)
    stem_load = StemLoadShown(allow_null=True, default=None)
    decay_growths = serializers.SerializerMethodField()
    targets = TargetShown(many=True)
    ratings = RatingShown(many=True)
    checks = CheckShown(many=True, source="asked_checks")
    emergency_actions = ActionsShown(many=True)

    @extend_schema_field(DecayGrowthShown(many=True))
    def get_decay_growths(self, row: Any) -> Any:
        """Each part that was measured inside, or that rots at roots or butt, over the coming years."""
        return DecayGrowthShown(growths_of(row), many=True).data

    def get_risk(self, row: Any) -> str:
        """The worst risk of the ratings."""
        return risk.worst([rating.risk for rating in row.ratings.all()])


class EmergencyShown(serializers.Serializer[Any]):
    """What to do now: the number to call and what is still unanswered."""

    cause = serializers.CharField()
    phone = serializers.CharField()
    advice = serializers.CharField()
    unanswered = serializers.ListField(child=serializers.CharField())
    age_hours = serializers.FloatField()
    late = serializers.BooleanField(help_text="It reached the service too late to page anyone as if it were now.")


class RecordedShown(InspectionShown):
    """A recorded inspection, and the answer to its emergency if it is one."""

    emergency_answer = EmergencyShown(allow_null=True)


class ReasonShown(serializers.Serializer[Any]):
    """One published rule that applied."""

    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]
    defect_class = serializers.IntegerField()
    begun = serializers.BooleanField()
    act_now = serializers.BooleanField()


class FindingSuggested(serializers.Serializer[Any]):
    """What one finding suggests for its part; `place` is null for the dead tree itself and for the stem load."""

    place = serializers.IntegerField(allow_null=True)
    part = serializers.CharField()
    category = serializers.CharField()
    defect_class = serializers.IntegerField()
    reasons = ReasonShown(many=True)


class SharpenShown(serializers.Serializer[Any]):
    """The measurement that would sharpen the suggestion most."""

    place = serializers.IntegerField()
    field = serializers.CharField()
    why = serializers.CharField()


class FailureSuggested(serializers.Serializer[Any]):
    """The suggested likelihood of failure of the tree and of each finding, by defect classes and the stem load."""

    category = serializers.CharField()
    basis = serializers.CharField()
    by_finding = FindingSuggested(many=True)
    reasons = ReasonShown(many=True)
    missing = SharpenShown(allow_null=True)


class ImpactSuggested(serializers.Serializer[Any]):
    """The suggested likelihood of impact on a target, in the order of `targets`."""

    word = serializers.CharField()
    reason = serializers.CharField()
    basis = serializers.CharField(help_text="stated or recalled from the publication, or interpolated by the project")


class PairShown(serializers.Serializer[Any]):
    """One part and one target."""

    part = serializers.CharField()
    finding = serializers.IntegerField(allow_null=True)
    target = serializers.IntegerField()
    failure = serializers.CharField()
    impact = serializers.CharField()
    failure_and_impact = serializers.CharField()


class PreviewShown(serializers.Serializer[Any]):
    """What the methods suggest; nothing was stored."""

    failure = FailureSuggested()
    impacts = ImpactSuggested(many=True)
    pairs = PairShown(many=True)
    emergency = serializers.BooleanField(help_text="Imminent failure is suggested and a target is there.")
    emergency_phone = serializers.CharField()
    methods = serializers.CharField()
    sections = SectionComputed(many=True, help_text="What the method makes of each section, in their order.")
    stem_load = StemLoadComputed(allow_null=True)
    corrections = serializers.ListField(
        child=serializers.DictField(allow_null=True),
        help_text="What the calibration by dissected trees makes of each section; null: nothing was read inside.",
    )
    failure_uncorrected = serializers.CharField(
        allow_null=True, help_text="The category without the calibration; null: nothing was corrected."
    )
    decay = DecayComputed(many=True, help_text="Each decayed part over the coming years.")


class MeasureShown(serializers.Serializer[Any]):
    """One measure of a kind; a choice takes one of `choices`, a number least to most in `unit`."""

    name = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    type = serializers.CharField()
    unit = serializers.CharField()
    least = serializers.FloatField(allow_null=True)
    most = serializers.FloatField(allow_null=True)
    choices = serializers.ListField(child=serializers.CharField())
    required = serializers.BooleanField()  # type: ignore[assignment]


class KindShown(serializers.Serializer[Any]):
    """A kind of finding with all that a form needs."""

    name = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    parts = serializers.ListField(child=serializers.CharField())
    fungus = serializers.BooleanField(help_text="Whether a fungus genus may be recorded with it.")
    sharpened_by = serializers.CharField(help_text="The measure that tells most.")
    measures = MeasureShown(many=True)


class SightingShown(FindingShown):
    """A finding and when it was seen."""

    inspection = serializers.UUIDField(source="inspection.uid")
    inspected_on = serializers.DateField(source="inspection.inspected_on")


class DefectShown(serializers.Serializer[Any]):
    """A weakness across the years, the earliest sighting first."""

    uid = serializers.UUIDField()
    kind = serializers.CharField(source="newest.kind")
    part = serializers.CharField(source="newest.part")
    last_seen = serializers.DateField(source="newest.inspection.inspected_on")
    sightings = SightingShown(many=True)
