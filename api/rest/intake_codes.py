"""Tables of a city's codes of species: an uploaded table read into what a mapping takes."""

from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http.idempotency import idempotent
from api.http.permissions import may
from api.http.view import View
from api.rest.intake import TAGS, SurveyBody
from inventory.intake import codes, files
from inventory.intake.known import known
from inventory.problems import Invalid, Missing


class CodesShown(serializers.Serializer[Any]):
    """A table of codes as a mapping takes it."""

    codes = serializers.DictField(child=serializers.CharField(), help_text="The name that each code stands for.")


class Codes(View):
    """A table of codes."""

    permission_classes = [may("intake.run")]

    @extend_schema(
        operation_id="intake_codes",
        summary="Read a table of species codes",
        description="Two or three columns of an uploaded table: code, botanical name, everyday name; which is which is"
        " found from the cells. Put the answer's `codes` into the mapping. Nothing is kept.",
        request=SurveyBody,
        responses=CodesShown,
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Read it."""
        given = self.read(SurveyBody)
        try:
            with files.opened(given["sha256"], given.get("name", "")) as source:
                return Response({"codes": codes.table(source, known().names)})
        except Missing as missing:
            # The address is there: it is the body that names no file.
            raise Invalid.field("#/sha256", missing.detail) from missing


urlpatterns = [path("intake/codes", Codes.as_view(), name="intake-codes")]
