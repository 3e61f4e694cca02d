"""The picture of the stem of an inspection's stem load: its profile, where sections were measured."""

import uuid

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.http import conditional
from api.http.permissions import may
from api.http.view import View
from assessments import queries, stem_loads
from assessments.calculations.stem_load import drawing
from inventory.problems import Missing


class Picture(View):
    """The stem's profile."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="stem_loads_picture",
        summary="The stem of a stem load as a picture",
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        tags=["inspections"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative, drawn by the method as it is now; 404 where nothing was measured inside."""
        load = queries.stem_load(uid)
        draw = drawing(stem_loads.tree_of(load.measured, load.filled, stem_loads.looked(load)))
        if draw is None:
            raise Missing("no section was measured with this inspection: there is nothing to draw")
        picture = draw()
        tag = conditional.etag(stem_loads.VERSION, picture)
        headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
        if conditional.none_match(request, tag):
            return HttpResponse(status=304, headers=headers)
        return HttpResponse(picture, content_type="image/svg+xml", headers=headers)


urlpatterns = [path("inspections/<uuid:uid>/stem-load.svg", Picture.as_view(), name="stem-load-picture")]
