"""The policy by which dates are set: every version, the newest one in force."""

from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.fields import Body, Text
from api.http.idempotency import idempotent
from api.http.permissions import may_by_method
from api.http.view import View
from api.rest.shapes import listed
from assessments import queries, services

TAGS = ["policy"]


class PolicyBody(Body):
    """A policy to be adopted. `policy` has the members of the one in force; the service numbers it."""

    policy = serializers.DictField()
    why = Text()


class PolicyShown(serializers.Serializer[Any]):
    """A version of the policy; version 0 is the shipped one before any was adopted."""

    version = serializers.IntegerField()
    policy = serializers.DictField(source="data")
    why = serializers.CharField()
    adopted_by = serializers.CharField(source="adopted_by.name", default=None, allow_null=True)
    adopted_at = serializers.DateTimeField(allow_null=True)


class Policies(View):
    """The policies."""

    permission_classes = [may_by_method(GET="assessments.view", POST="policy.adopt")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="policies_list", summary="Policies, the newest first", responses=listed(PolicyShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """The first one is in force; without paging, `limit` at most."""
        rows = list(queries.policies()[: self.query["limit"]]) or [queries.current_policy()]
        return paging.answer(request, PolicyShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="policies_adopt",
        summary="Adopt a policy",
        request=PolicyBody,
        responses={201: PolicyShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Put a new version in force; every tree is recomputed by it soon after."""
        said = self.read(PolicyBody)
        policy = services.adopt_policy(self.author, said["policy"], said["why"])
        policy.refresh_from_db()
        return Response(PolicyShown(policy).data, status=201)


urlpatterns = [path("policies", Policies.as_view(), name="policies")]
