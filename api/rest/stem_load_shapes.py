"""What a stem load and its results look like when they are shown."""

from typing import Any

from django.urls import reverse
from rest_framework import serializers


class StemLoadResultShown(serializers.Serializer[Any]):
    """What one version of the methods made of a stem load."""

    method = serializers.CharField()
    version = serializers.IntegerField()
    rests_on = serializers.CharField(help_text="The methods that it rests on, each with its version.")
    computed_at = serializers.DateTimeField()
    result = serializers.DictField(
        help_text="As POST /api/v1/calculations/stem-load answers, and `likelihood`: judged by the gusts of the city."
    )


class StemLoadShown(serializers.Serializer[Any]):
    """A stem load: what was sent, what stood in where that said nothing, and what each version made of it."""

    uid = serializers.UUIDField()
    measured = serializers.DictField(help_text="As it was sent.")
    filled = serializers.DictField(help_text="From the tree and the city's policy: request, gust_climate, notes.")
    results = StemLoadResultShown(
        many=True, help_text="The newest version first; what an older one made of it is kept."
    )
    picture = serializers.SerializerMethodField(help_text="Its profile (SVG); null where no section was measured.")

    def get_picture(self, row: Any) -> str | None:
        """The address of its picture."""
        if not row.inspection.sections.all():
            return None
        return reverse("api:stem-load-picture", args=[row.inspection.uid])


class StemLoadComputed(serializers.Serializer[Any]):
    """What the methods make of a stem load that is not stored."""

    filled = serializers.DictField()
    result = serializers.DictField()
