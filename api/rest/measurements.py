"""Measurements and supports of a tree: facts with a client-made `uid`, recorded once."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.urls import path
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging, params
from api.http.permissions import SIGNED_IN, may_by_method
from api.http.view import View
from api.rest import scope, shapes
from inventory import calendar, facts, queries
from inventory.models.measurement import METHODS
from inventory.models.support import KINDS
from inventory.services import Size


class SizeBody(fields.Body):
    """How large a tree is. Over bark; a size class is a low and a high diameter without a value."""

    measured_on = fields.Day()
    method = fields.Word(choices=METHODS)
    stems_cm = fields.Array(child=fields.Number(min_value=0.1, max_value=1500), max_length=50, required=False)
    dbh_cm = fields.Number(min_value=0.1, max_value=1500, allow_null=True, required=False)
    dbh_low_cm = fields.Number(min_value=0, max_value=1500, allow_null=True, required=False)
    dbh_high_cm = fields.Number(min_value=0.1, max_value=1500, allow_null=True, required=False)
    dbh_height_m = fields.Number(min_value=0.1, max_value=2, required=False, default=1.37)
    height_m = fields.Number(min_value=0.1, max_value=130, allow_null=True, required=False)
    crown_m = fields.Number(min_value=0.1, max_value=80, allow_null=True, required=False)
    crown_base_m = fields.Number(min_value=0, max_value=130, allow_null=True, required=False)
    note = fields.Text(allow_blank=True, required=False)


class MeasurementBody(SizeBody):
    """A measurement, with the key that its client made."""

    uid = fields.Uid()


class SupportBody(fields.Body):
    """A support that was installed, with the key that its client made."""

    uid = fields.Uid()
    kind = fields.Word(choices=KINDS)
    height_m = fields.Number(min_value=0.1, max_value=100)
    installed_on = fields.Day()
    note = fields.Text(allow_blank=True, required=False)


def size_of(given: Mapping[str, Any]) -> Size:
    """The size that a checked body describes."""
    return Size(**{**given, "stems_cm": tuple(given.get("stems_cm", ()))})


class Measurements(View):
    """The measurements of a tree."""

    permission_classes = [may_by_method(GET=SIGNED_IN, POST="inventory.edit")]
    params = {"GET": (params.UNITS, *paging.PAGING), "POST": (params.UNITS,)}

    @extend_schema(
        operation_id="measurements_list",
        summary="List the measurements of a tree",
        responses=shapes.listed(shapes.Measurement()),
        tags=["trees"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """A page of measurements, in the order in which they came in."""
        tree = queries.tree(uid)
        scope.require_full(self.person, tree)
        page = paging.page(facts.measurements(tree), self.query)
        shown = shapes.many(shapes.Measurement, page.rows, units=self.units)
        return paging.answer(request, shown, page.cursor)

    @extend_schema(
        operation_id="measurements_record",
        summary="Record a measurement",
        description="The same uid with the same content gives the same answer for ever; with other content 409.",
        request=MeasurementBody,
        responses={200: OpenApiResponse(shapes.Measurement), 201: OpenApiResponse(shapes.Measurement)},
        examples=[
            OpenApiExample(
                "By tape",
                {
                    "uid": "5b1f6c8e-8f0f-4a37-9a0c-0a2f1be0a3d1",
                    "measured_on": "2026-05-04",
                    "method": "tape",
                    "dbh_cm": 43.5,
                    "height_m": 14.5,
                },
                request_only=True,
            )
        ],
        tags=["trees"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Record it; the tree's size follows the newest one."""
        tree = queries.tree(uid)
        size = size_of(self.read(MeasurementBody))
        row, new = facts.record_measurement(self.author, tree, size, calendar.today())
        row = facts.measurements(tree).get(pk=row.pk)
        shown = shapes.Measurement(row, context={"units": self.units}).data
        return Response(shown, status=201 if new else 200)


class Supports(View):
    """The supports of a tree."""

    permission_classes = [may_by_method(GET=SIGNED_IN, POST="inventory.edit")]
    params = {"GET": (params.UNITS,), "POST": (params.UNITS,)}

    @extend_schema(
        operation_id="supports_list",
        summary="List the supports of a tree",
        responses=shapes.listed(shapes.Support()),
        tags=["trees"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """All of them, the oldest first."""
        tree = queries.tree(uid)
        scope.require_full(self.person, tree)
        shown = shapes.many(shapes.Support, facts.supports(tree), units=self.units)
        return paging.answer(request, shown, None)

    @extend_schema(
        operation_id="supports_record",
        summary="Record a support that was installed",
        description="The same uid with the same content gives the same answer for ever; with other content 409.",
        request=SupportBody,
        responses={200: OpenApiResponse(shapes.Support), 201: OpenApiResponse(shapes.Support)},
        tags=["trees"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Record it."""
        tree = queries.tree(uid)
        given = self.read(SupportBody)
        row, new = facts.record_support(self.author, tree, today=calendar.today(), **given)
        shown = shapes.Support(row, context={"units": self.units}).data
        return Response(shown, status=201 if new else 200)


urlpatterns = [
    path("trees/<uuid:uid>/measurements", Measurements.as_view(), name="measurements"),
    path("trees/<uuid:uid>/supports", Supports.as_view(), name="supports"),
]
