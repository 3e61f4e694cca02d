"""What a section and its results look like when they are shown."""

from typing import Any

from django.urls import reverse
from rest_framework import serializers


class SectionResultShown(serializers.Serializer[Any]):
    """What one version of the method made of a section; `result` as POST /api/v1/calculations/section answers."""

    method = serializers.CharField()
    version = serializers.IntegerField()
    draws = serializers.IntegerField(help_text="Draws that the interval rests on.")
    computed_at = serializers.DateTimeField()
    result = serializers.DictField()


class CorrectionShown(serializers.Serializer[Any]):
    """What a calibration by dissected trees makes of a section; the uncorrected figure stands beside it."""

    calibration = serializers.IntegerField(source="calibration_id")
    computed_at = serializers.DateTimeField()
    said = serializers.CharField(source="result.said")
    result = serializers.DictField(help_text="t/R and loss in % with 80 and 95 % intervals, corrected and not.")


class SectionShown(serializers.Serializer[Any]):
    """A section: what was measured, and what each version of the method made of it."""

    uid = serializers.UUIDField()
    finding = serializers.UUIDField(source="finding.uid", allow_null=True, default=None)
    height_m = serializers.FloatField()
    measured = serializers.DictField(help_text="As it was sent.")
    results = SectionResultShown(many=True, help_text="The newest version first; what an older one made of it is kept.")
    corrections = CorrectionShown(many=True, help_text="The newest calibration first; empty: none was applied.")
    picture = serializers.SerializerMethodField(help_text="Address of its picture (SVG).")

    def get_picture(self, row: Any) -> str:
        """The address of its picture."""
        return reverse("api:section-picture", args=[row.uid])


class SectionComputed(serializers.Serializer[Any]):
    """What the method makes of a section that is not stored."""

    result = serializers.DictField()
    draws = serializers.IntegerField()
