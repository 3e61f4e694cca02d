"""How far assessors agree, and what the opened stems say of each one's judgements: for learning, never a ranking."""

from dataclasses import asdict
from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.permissions import SIGNED_IN, may
from api.http.view import View
from api.rest.shapes import listed
from assessments import queries
from assessments.methods import agreement as methods
from inventory.people.models import User

TAGS = ["assessors"]


class AssessorShown(serializers.Serializer[Any]):
    """Somebody who has rated trees; figures stand in its own record alone."""

    id = serializers.IntegerField(source="pk")
    name = serializers.CharField()
    qualification = serializers.CharField()


class AgreementShown(serializers.Serializer[Any]):
    """Over trees rated by two assessors or more within a year; nobody is named."""

    trees = serializers.IntegerField()
    assessors = serializers.IntegerField()
    pairs = serializers.IntegerField()
    kappa = serializers.DictField(allow_null=True, help_text="Weighted kappa with its interval; 1 is full agreement.")
    spread = serializers.FloatField(allow_null=True, help_text="Share of the trees put into two categories or more.")
    notes = serializers.ListField(child=serializers.CharField())
    method = serializers.CharField()
    version = serializers.IntegerField()


class RecordShown(serializers.Serializer[Any]):
    """One assessor's own record. Errors of t/R are found less predicted; nothing is said below 10 opened trees."""

    name = serializers.CharField()
    trees = serializers.IntegerField()
    heights = serializers.IntegerField()
    mean_error = serializers.FloatField(allow_null=True)
    mean_absolute_error = serializers.FloatField(allow_null=True)
    held80 = serializers.FloatField(allow_null=True, help_text="Share of the 80 % intervals that held the truth.")
    held80_interval = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    interval_score = serializers.FloatField(allow_null=True, help_text="Smaller is better.")
    brier = serializers.DictField(allow_null=True)
    note = serializers.CharField()
    method = serializers.CharField()
    version = serializers.IntegerField()


class Assessors(View):
    """Who has rated trees."""

    permission_classes = [may("records.view")]

    @extend_schema(
        operation_id="assessors_list", summary="Who has rated trees", responses=listed(AssessorShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """By name: this is no ranking."""
        return paging.answer(request, AssessorShown(queries.assessors(), many=True).data, None)


class Agreement(View):
    """How far assessors agree."""

    permission_classes = [may("records.view")]

    @extend_schema(
        operation_id="assessors_agreement", summary="Agreement of assessors", responses=AgreementShown, tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """On the likelihood of failure of the same tree in the same state, beside the published spread."""
        found = {**asdict(queries.agreement()), "method": methods.METHOD, "version": methods.VERSION}
        return Response(AgreementShown(found).data)


class Record(View):
    """One assessor's record."""

    permission_classes = [may("records.view")]

    @extend_schema(
        operation_id="assessors_record", summary="The record of one assessor", responses=RecordShown, tags=TAGS
    )
    def get(self, request: Request, assessor_id: int) -> Response:
        """For foresters: to talk about, not to rank by."""
        return Response(_shown(queries.assessor(assessor_id)))


class OwnRecord(View):
    """One's own record."""

    permission_classes = [may(SIGNED_IN)]

    @extend_schema(operation_id="me_record", summary="Your own record", responses=RecordShown, tags=TAGS)
    def get(self, request: Request) -> Response:
        """What the opened stems say of your judgements: for learning, compared with nobody's."""
        user = self.person
        if user is None:
            raise RuntimeError("the permission has let nobody through")
        return Response(_shown(user))


def _shown(user: User) -> dict[str, Any]:
    found = {**asdict(queries.record_of_assessor(user)), "name": user.name}
    return dict(RecordShown({**found, "method": methods.METHOD, "version": methods.VERSION}).data)


urlpatterns = [
    path("assessors", Assessors.as_view(), name="assessors"),
    path("assessors/agreement", Agreement.as_view(), name="assessors-agreement"),
    path("assessors/<int:assessor_id>/record", Record.as_view(), name="assessor-record"),
    path("me/record", OwnRecord.as_view(), name="own-record"),
]
