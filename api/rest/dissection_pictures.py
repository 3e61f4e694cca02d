"""The pictures of an opened stem: rebuilt, its cracks along the height, each cut beside what was predicted."""

import uuid

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.http import conditional
from api.http.permissions import may
from api.http.view import View
from assessments import dissections, queries, truths
from assessments.models import Dissection
from assessments.report import opened
from inventory.problems import Conflict, Missing

TAGS = ["dissections"]
SVG = {(200, "image/svg+xml"): OpenApiTypes.STR}


def _drawn(found: Dissection) -> opened.Pictures:
    if not found.cuts.all():
        raise Missing("it has no cut yet: there is nothing to draw")
    pictures = opened.pictures(found)
    if pictures is None:
        raise Conflict("the methods as they are now refuse its cuts")
    return pictures


def _answer(request: Request, picture: str) -> HttpResponse:
    tag = conditional.etag(max(dissections.VERSION, truths.VERSION), picture)
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if conditional.none_match(request, tag):
        return HttpResponse(status=304, headers=headers)
    return HttpResponse(picture, content_type="image/svg+xml", headers=headers)


class Stem(View):
    """The stem rebuilt from its cuts."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="dissections_stem_picture", summary="A rebuilt stem", responses=SVG, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative; 404 while there is no cut."""
        return _answer(request, _drawn(queries.dissection(uid)).stem)


class Cracks(View):
    """The depth of cracks along the height, predicted and found."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="dissections_cracks_picture",
        summary="Depth of cracks along a stem, predicted and found",
        responses=SVG,
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative; 404 where no crack was found or foretold."""
        drawn = _drawn(queries.dissection(uid)).cracks
        if not drawn:
            raise Missing("no crack was found or foretold")
        return _answer(request, drawn)


class Cut(View):
    """One cut beside what was predicted at its height."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="dissections_cut_picture",
        summary="One height of a stem, predicted and found",
        responses=SVG,
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID, cut: uuid.UUID) -> HttpResponse:
        """SVG with its text alternative."""
        found = queries.dissection(uid)
        height = next((one.height_m for one in found.cuts.all() if one.uid == cut), None)
        if height is None:
            raise Missing(f"this dissection has no cut {cut}")
        return _answer(request, dict(_drawn(found).cuts)[height])


urlpatterns = [
    path("dissections/<uuid:uid>/stem.svg", Stem.as_view(), name="dissection-stem"),
    path("dissections/<uuid:uid>/cracks.svg", Cracks.as_view(), name="dissection-cracks"),
    path("dissections/<uuid:uid>/cuts/<uuid:cut>.svg", Cut.as_view(), name="dissection-cut-picture"),
]
