"""Calibration by dissected trees: its versions, its picture, and the trees to be looked at again for it."""

from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, paging
from api.http.idempotency import idempotent
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.jobs import JobShown, accepted
from api.rest.shapes import listed
from assessments import calibrations, queries
from assessments.methods import calibration as method
from assessments.models import ReviewItem
from assessments.report.drawing import calibration as drawing
from inventory.problems import Conflict
from workers import jobs

TAGS = ["calibration"]
ABOUT = "A calibration changes later suggestions only: a decided rating stays as it was decided."


class CalibrationShown(serializers.Serializer[Any]):
    """One fit: which dissections, when, what was learned. On the logit scale of the sound-wall fraction (t/R)."""

    version = serializers.IntegerField()
    method = serializers.CharField()
    method_version = serializers.IntegerField()
    trees = serializers.IntegerField(help_text="Dissected trees that the correction rests on.")
    dissections = serializers.ListField(child=serializers.UUIDField())
    enough = serializers.BooleanField(source="parameters.enough", help_text="Whether it corrects anything yet.")
    lowest = serializers.FloatField(source="parameters.lowest", help_text="Nothing is corrected below this t/R,")
    highest = serializers.FloatField(source="parameters.highest", help_text="nor above this one.")
    effects = serializers.ListField(source="parameters.effects", child=serializers.DictField())
    strata = serializers.ListField(source="parameters.strata", child=serializers.DictField())
    presence = serializers.DictField(source="parameters.presence")
    notes = serializers.ListField(source="parameters.notes", child=serializers.CharField())
    asked_by = serializers.CharField(source="asked_by.name", default=None, allow_null=True)
    fitted_at = serializers.DateTimeField()


class ReviewShown(serializers.Serializer[Any]):
    """A rating whose suggestion the newest calibration raises; the rating itself stays."""

    tree = serializers.UUIDField(source="tree.uid")
    tag = serializers.CharField(source="tree.tag", allow_null=True)
    inspection = serializers.UUIDField(source="inspection.uid")
    inspected_on = serializers.DateField(source="inspection.inspected_on")
    rating = serializers.UUIDField(source="rating.uid")
    part = serializers.CharField(source="rating.part")
    target = serializers.CharField(source="rating.target.label")
    decided = serializers.CharField(source="rating.failure")
    suggested = serializers.CharField(help_text="Likelihood of failure before.")
    corrected = serializers.CharField(help_text="Likelihood of failure as corrected.")
    calibration = serializers.IntegerField(source="calibration_id")
    about = serializers.DictField()


class Calibrations(View):
    """The calibrations."""

    permission_classes = [may_by_method(GET="assessments.view", POST="calibration.run")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="calibrations_list",
        summary="Calibrations, the newest first",
        description=ABOUT,
        responses=listed(CalibrationShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """The first one corrects suggestions; without paging, `limit` at most."""
        rows = queries.calibrations()[: self.query["limit"]]
        return paging.answer(request, CalibrationShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="calibrations_fit",
        summary="Fit to all dissections",
        description=ABOUT,
        request=None,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """A job: a new version where anything was learned, and its review list. The nightly pass does the same."""
        return accepted(jobs.ask(self.author, "calibrate", {}))


class One(View):
    """One calibration."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="calibrations_read", summary="One calibration", responses=CalibrationShown, tags=TAGS)
    def get(self, request: Request, version: int) -> Response:
        """With what was learned."""
        return Response(CalibrationShown(queries.calibration_of(version)).data)


class Picture(View):
    """The picture of one calibration."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="calibrations_picture",
        summary="A calibration as a picture",
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        tags=TAGS,
    )
    def get(self, request: Request, version: int) -> HttpResponse:
        """SVG with its text alternative; 409 where an older method made it, which cannot be drawn any more."""
        row = queries.calibration_of(version)
        fitted = method.from_json(row.parameters)
        if fitted is None:
            raise Conflict(f"it was made by {row.method}/{row.method_version}: fit it again")
        picture = drawing.draw(fitted, queries.learned_by(row))
        tag = conditional.etag(calibrations.VERSION, picture)
        headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
        if conditional.none_match(request, tag):
            return HttpResponse(status=304, headers=headers)
        return HttpResponse(picture, content_type="image/svg+xml", headers=headers)


class Review(View):
    """The trees to be looked at again."""

    permission_classes = [may("assessments.view")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="calibration_review",
        summary="Ratings whose suggestion rises",
        description=ABOUT,
        responses=listed(ReviewShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """Of the newest calibration, at standing trees that nobody has rated since."""
        page: paging.Page[ReviewItem] = paging.page(queries.review_list(), self.query)
        return paging.answer(request, ReviewShown(page.rows, many=True).data, page.cursor)


urlpatterns = [
    path("calibrations", Calibrations.as_view(), name="calibrations"),
    path("calibrations/<int:version>", One.as_view(), name="calibration"),
    path("calibrations/<int:version>/picture.svg", Picture.as_view(), name="calibration-picture"),
    path("calibration-review", Review.as_view(), name="calibration-review"),
]
