"""The index, the OpenAPI document and its reading page."""

from functools import cache
from threading import Lock
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional
from api.http.permissions import PUBLIC, may
from api.http.view import View

_MAKING: Final = Lock()
_LISTS = ("species", "zones", "sites", "trees", "events", "me", "tokens", "openapi", "reference")


class Index(serializers.Serializer[Any]):
    """Where things are."""

    title = serializers.CharField()
    caution = serializers.CharField()
    links = serializers.DictField(child=serializers.CharField())


class Root(View):
    """The beginning of the interface."""

    permission_classes = [may(PUBLIC)]

    @extend_schema(operation_id="index", summary="Where things are", responses=Index, tags=["index"])
    def get(self, request: Request) -> Response:
        """Links to the lists, the document and its reading page."""
        links = {name: request.build_absolute_uri(reverse(f"api:{name}")) for name in _LISTS}
        caution = document()["info"]["description"]
        return Response({"title": document()["info"]["title"], "caution": caution, "links": links})


class Document(View):
    """The OpenAPI document."""

    permission_classes = [may(PUBLIC)]

    @extend_schema(exclude=True)
    def get(self, request: Request) -> HttpResponse:
        """OpenAPI 3.1 as JSON."""
        return conditional.answer(request, 1, document())


def document() -> dict[str, Any]:
    """The document, made once a process from the views themselves: its maker cannot run in two threads at once."""
    with _MAKING:
        return _made()


@cache
def _made() -> dict[str, Any]:
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return made


class Reference(View):
    """The reading page of the document."""

    permission_classes = [may(PUBLIC)]

    @extend_schema(exclude=True)
    def get(self, request: Request) -> HttpResponse:
        """A page that shows the document and lets one try it; its scripts come from this service alone."""
        return render(request._request, "api/reference.html")


urlpatterns = [
    path("", Root.as_view(), name="index"),
    path("openapi.json", Document.as_view(), name="openapi"),
    path("docs", Reference.as_view(), name="reference"),
]
