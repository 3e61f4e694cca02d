"""Zones: the districts and maintenance areas."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, fields, paging
from api.http.idempotency import idempotent
from api.http.permissions import PUBLIC, may_by_method
from api.http.view import View
from api.rest.shapes import ZoneShown, listed, many
from inventory import places
from inventory.models import Zone
from inventory.models.zone import OCCUPANCIES

AREA_VERTICES = 50_000


class ZoneBody(fields.Body):
    """A zone as it is made."""

    code = fields.Text(max_length=40)
    name = fields.Text(max_length=200)
    area = fields.Geometry(("Polygon", "MultiPolygon"), AREA_VERTICES)
    occupancy = fields.Word(choices=OCCUPANCIES, allow_null=True, required=False)


class ZoneEdit(ZoneBody):
    """What of a zone may be changed."""

    why = fields.Text(max_length=500, required=False, help_text="The reason, for the history.")


class Zones(View):
    """All zones."""

    permission_classes = [may_by_method(GET=PUBLIC, POST="zones.edit")]
    params = {"GET": paging.PAGING}

    @extend_schema(operation_id="zones_list", summary="List the zones", responses=listed(ZoneShown()), tags=["zones"])
    def get(self, request: Request) -> Response:
        """A page of zones with their areas."""
        page = paging.page(Zone.objects.all(), self.query)
        return paging.answer(request, many(ZoneShown, page.rows), page.cursor)

    @extend_schema(
        operation_id="zones_make",
        summary="Make a zone",
        request=ZoneBody,
        responses={201: OpenApiResponse(ZoneShown)},
        tags=["zones"],
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Make it, and assign the trees inside to it."""
        zone = places.make_zone(self.author, **self.read(ZoneBody))
        response = conditional.answer(request, zone.version, ZoneShown(zone).data, status=201)
        response["Location"] = f"/api/v1/zones/{zone.pk}"
        return response


class OneZone(View):
    """One zone."""

    permission_classes = [may_by_method(GET=PUBLIC, PATCH="zones.edit")]
    matched = ("PATCH",)

    @extend_schema(operation_id="zones_read", summary="One zone", responses=ZoneShown, tags=["zones"])
    def get(self, request: Request, zone_id: int) -> HttpResponse:
        """The zone, with its ETag."""
        zone = get_object_or_404(Zone, pk=zone_id)
        return conditional.answer(request, zone.version, ZoneShown(zone).data)

    @extend_schema(
        operation_id="zones_edit", summary="Change a zone", request=ZoneEdit, responses=ZoneShown, tags=["zones"]
    )
    def patch(self, request: Request, zone_id: int) -> HttpResponse:
        """Change it; a new area assigns its trees anew."""
        zone = get_object_or_404(Zone, pk=zone_id)
        version = conditional.matched_version(request, zone.version)
        changes: dict[str, Any] = self.read(ZoneEdit, partial=True)
        why = changes.pop("why", "zone edited")
        edited = places.edit_zone(self.author, zone, changes, version=version, why=why) if changes else zone
        return conditional.answer(request, edited.version, ZoneShown(edited).data)


urlpatterns = [
    path("zones", Zones.as_view(), name="zones"),
    path("zones/<int:zone_id>", OneZone.as_view(), name="zone"),
]
