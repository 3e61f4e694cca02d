"""What the decay of a part over the years and its results look like when they are shown."""

from typing import Any

from django.urls import reverse
from rest_framework import serializers


class DecayResultShown(serializers.Serializer[Any]):
    """What one version of the methods made of a part; `result` as POST /api/v1/calculations/decay-growth answers."""

    method = serializers.CharField()
    version = serializers.IntegerField()
    rests_on = serializers.CharField(
        help_text="The methods that it rests on, each with its version, and the policy since which its numbers hold."
    )
    computed_at = serializers.DateTimeField()
    asked = serializers.DictField(help_text="The request, without the threshold and the chance of the policy.")
    first_year = serializers.IntegerField(
        allow_null=True, help_text="In which the chance of the policy is reached; 0: already when it was measured."
    )
    due_on = serializers.DateField(allow_null=True, help_text="To be measured inside again by then.")
    result = serializers.DictField()


class DecayGrowthShown(serializers.Serializer[Any]):
    """One part that was measured inside, or that rots at roots or butt."""

    section = serializers.UUIDField(source="newest.section.uid", allow_null=True, default=None)
    finding = serializers.UUIDField(source="newest.finding.uid", allow_null=True, default=None)
    part = serializers.CharField(source="newest.part")
    height_m = serializers.FloatField(source="newest.height_m", allow_null=True)
    banded = serializers.BooleanField(source="newest.banded", help_text="Measured inside: there is a band over years.")
    results = DecayResultShown(many=True, help_text="The newest first; older ones are kept.")
    picture = serializers.SerializerMethodField(help_text="Address of the band (SVG); null where there is none.")

    def get_picture(self, grown: Any) -> str | None:
        """The address of its picture."""
        return reverse("api:decay-growth-picture", args=[grown.uid]) if grown.newest.banded else None


class DecayComputed(serializers.Serializer[Any]):
    """What the method makes of a part of an inspection that is not stored."""

    section = serializers.IntegerField(source="part.section", allow_null=True, help_text="Its place in the record.")
    finding = serializers.IntegerField(source="part.finding", allow_null=True, help_text="Its place in the record.")
    part = serializers.CharField(source="part.part")
    asked = serializers.DictField(source="part.asked")
    result = serializers.DictField()
