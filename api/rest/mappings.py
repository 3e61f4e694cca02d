"""Mappings kept under a name: saved, listed by how well they fit a file's headings, read, forgotten."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging
from api.http.idempotency import idempotent
from api.http.permissions import may_by_method
from api.http.view import View
from api.rest.shapes import listed
from inventory.intake import mapping as mappings
from inventory.intake import saved
from inventory.intake.mapping import Mapping
from inventory.models import IntakeMapping
from inventory.problems import FieldProblem, Invalid

TAGS = ["intake"]
HEADINGS, LONGEST_HEADING = 500, 1000


def read_mapping(given: Any) -> Mapping:
    """The mapping in a body. Raises Invalid that points into `mapping`."""
    try:
        return mappings.from_dict(given)
    except Invalid as refused:
        wrong = [FieldProblem(f"#/mapping/{e.pointer.lstrip('#/')}", e.detail) for e in refused.errors]
        raise Invalid.fields(wrong) from refused


class MappingBody(fields.Body):
    """A mapping to be kept."""

    name = fields.Text(max_length=saved.LONGEST_NAME, help_text="A mapping of this name is replaced.")
    mapping = serializers.JSONField(help_text="As a survey suggests it.")
    headings = serializers.ListField(
        child=fields.Text(max_length=LONGEST_HEADING),
        max_length=HEADINGS,
        required=False,
        help_text="All headings of the file that it was made on; those that it maps where they are not given.",
    )


class MappingShown(serializers.Serializer[Any]):
    """A kept mapping."""

    uid = serializers.UUIDField()
    name = serializers.CharField()
    headings = serializers.ListField(child=serializers.CharField(), help_text="In lower case, sorted.")
    saved_by = serializers.CharField(source="saved_by.name", default=None, allow_null=True)
    saved_at = serializers.DateTimeField()


class MappingFull(MappingShown):
    """A kept mapping with what it says."""

    mapping = serializers.SerializerMethodField()

    def get_mapping(self, kept: IntakeMapping) -> dict[str, Any]:
        """As checks and loads take it."""
        return mappings.to_dict(mappings.parse(kept.mapping))


class Mappings(View):
    """All kept mappings."""

    permission_classes = [may_by_method(GET="intake.view", POST="intake.run")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="intake_mappings_list",
        summary="List the saved mappings",
        responses=listed(MappingShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """A page of them, the oldest first."""
        page = paging.page(saved.every(), self.query)
        return paging.answer(request, MappingShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="intake_mapping_save",
        summary="Save a mapping",
        request=MappingBody,
        responses={201: OpenApiResponse(MappingFull)},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Keep it for later files with the same headings."""
        body = self.read(MappingBody)
        kept = saved.save(self.author, body["name"], read_mapping(body["mapping"]), body.get("headings", ()))
        return Response(MappingFull(kept).data, status=201)


class OneMapping(View):
    """One kept mapping."""

    permission_classes = [may_by_method(GET="intake.view", DELETE="intake.run")]

    @extend_schema(operation_id="intake_mapping_read", summary="One saved mapping", responses=MappingFull, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With what it says."""
        return Response(MappingFull(saved.one(uid)).data)

    @extend_schema(
        operation_id="intake_mapping_forget", summary="Forget a saved mapping", responses={204: None}, tags=TAGS
    )
    def delete(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Loads that were made by it keep theirs."""
        saved.remove(self.author, uid)
        return HttpResponse(status=204)


urlpatterns = [
    path("intake/mappings", Mappings.as_view(), name="intake-mappings"),
    path("intake/mappings/<uuid:uid>", OneMapping.as_view(), name="intake-mapping"),
]
