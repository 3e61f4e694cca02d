"""The picture of a section that an inspection measured."""

import uuid

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.http import conditional
from api.http.permissions import may
from api.http.view import View
from assessments import queries, sections
from assessments.report.drawing import section as drawing


class Picture(View):
    """The picture of one section."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="sections_picture",
        summary="A section as a picture",
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        tags=["inspections"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative, drawn by the method as it is now."""
        found = queries.section(uid)
        newest = next(iter(found.results.all()), None)
        picture = drawing.draw(sections.drawn(found.measured, newest.result if newest else None), "section")
        tag = conditional.etag(sections.VERSION, picture)
        headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
        if conditional.none_match(request, tag):
            return HttpResponse(status=304, headers=headers)
        return HttpResponse(picture, content_type="image/svg+xml", headers=headers)


urlpatterns = [path("sections/<uuid:uid>/picture.svg", Picture.as_view(), name="section-picture")]
