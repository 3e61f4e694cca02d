"""The picture of decay over the years: the band of a part that an inspection measured inside."""

import uuid

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.http import conditional
from api.http.permissions import may
from api.http.view import View
from assessments import decay_growths
from assessments.methods import decay_growth
from assessments.queries.growths import newest_growth
from assessments.report.drawing import decay_band


class Picture(View):
    """The band of one decayed part."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="decay_growths_picture",
        summary="Decay over the years as a picture",
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        tags=["inspections"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative, by the uid of the section, or of the finding that no section looked into."""
        row = newest_growth(uid)
        picture = decay_band.draw(decay_growth.assess(decay_growths.as_computed(row.asked, row.result)))
        tag = conditional.etag(decay_growths.VERSION, picture)
        headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
        if conditional.none_match(request, tag):
            return HttpResponse(status=304, headers=headers)
        return HttpResponse(picture, content_type="image/svg+xml", headers=headers)


urlpatterns = [path("decay-growths/<uuid:uid>/picture.svg", Picture.as_view(), name="decay-growth-picture")]
