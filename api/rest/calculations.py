"""Stateless calculations: the list of kinds with schemas and examples, and one address a kind; nothing is stored."""

from collections.abc import Mapping
from typing import IO, Any, Final

from django.conf import settings
from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import params
from api.http.kinds import TooLarge, Unreadable
from api.http.parsers import StrictJSON
from api.http.permissions import may
from api.http.view import View
from assessments import calculations, queries
from assessments.calculations import ADVICE, Kind
from inventory.problems import Invalid

TAGS: Final = ["calculations"]
SVG: Final = "image/svg+xml"
PICTURE: Final = params.word("picture", "`svg`: the picture instead of the answer.", ("svg",))


class NamingJSON(StrictJSON):
    """The same limits, but NaN and numbers too large come through, so that the method names the field they stand in."""

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        """Return what the body says. Raises TooLarge, Unreadable and calculations.NotJson."""
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(limit + 1)
        if len(body) > limit:
            raise TooLarge(f"a body may hold {limit} bytes at most")
        try:
            text = body.decode("utf-8")
        except UnicodeDecodeError as error:
            raise Unreadable("the body is not UTF-8") from error
        return calculations.parse(text)


class Svg(BaseRenderer):
    """A picture as SVG."""

    media_type = SVG
    format = "svg"
    charset = "utf-8"

    def render(self, data: Any, media_type: str | None = None, context: Mapping[str, Any] | None = None) -> bytes:
        """The text as it is; only `Calculation.post` gives one."""
        return str(data).encode()


class CalculationKind(serializers.Serializer[Any]):
    """One kind of calculation."""

    name = serializers.CharField()
    title = serializers.CharField()
    about = serializers.CharField()
    address = serializers.CharField(help_text="Where to POST a request.")
    picture = serializers.BooleanField(source="drawn", help_text="Whether there is a picture of the answer.")
    cautions = serializers.ListField(child=serializers.CharField())
    input = serializers.DictField(help_text="JSON Schema of the request.")
    output = serializers.DictField(help_text="JSON Schema of the answer.")
    example = serializers.DictField()


class CalculationsShown(serializers.Serializer[Any]):
    """The kinds of calculation."""

    caution = serializers.CharField()
    items = CalculationKind(many=True)


class Calculations(View):
    """The kinds of calculation."""

    permission_classes = [may("calculations.run")]

    @extend_schema(
        operation_id="calculations_list", summary="Kinds of calculation", responses=CalculationsShown, tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """Each kind with the JSON Schemas of its request and answer, an example and its cautions."""
        here = request.path.rstrip("/")
        items = [vars(one) | {"address": f"{here}/{one.name}"} for one in calculations.KINDS.values()]
        return Response(CalculationsShown({"caution": ADVICE, "items": items}).data)


class Calculation(View):
    """One kind of calculation."""

    permission_classes = [may("calculations.run")]
    parser_classes: list[type[BaseParser]] = [NamingJSON]
    kind: Kind

    def calculate(self, request: Request) -> HttpResponse:
        """The answer as JSON, or its picture where that was asked for."""
        worked = calculations.run(self.kind, request.data, queries.policy_in_force())
        renderer = request.accepted_renderer
        if not (self.query.get("picture") or (renderer is not None and renderer.media_type == SVG)):
            return Response(worked.answer)
        drawn = calculations.picture(worked)
        if drawn is None:
            raise Invalid.field("?picture", "there is nothing to draw: give sections measured round the stem")
        return HttpResponse(drawn, content_type=f"{SVG}; charset=utf-8")


def _view(one: Kind) -> type[Calculation]:
    """The view of a kind, documented by the kind's own schemas."""
    responses: dict[Any, Any] = {(200, "application/json"): one.output}
    if one.drawn:
        responses[200, SVG] = {"type": "string", "description": "The picture, with its text alternatives."}

    class Made(Calculation):
        kind = one
        params = {"POST": (PICTURE,)} if one.drawn else {}
        renderer_classes = [JSONRenderer, Svg] if one.drawn else [JSONRenderer]

        @extend_schema(
            operation_id=f"calculations_{one.name.replace('-', '_')}",
            summary=one.title,
            description=" ".join((one.about, *one.cautions, ADVICE)),
            request={"application/json": one.input},
            responses=responses,
            examples=[OpenApiExample("Example", value=one.example, request_only=True)],
            tags=TAGS,
        )
        def post(self, request: Request) -> HttpResponse:
            return self.calculate(request)

    Made.__doc__, Made.__name__ = one.about, f"Calculation{one.title.title().replace(' ', '')}"
    return Made


class Unknown(View):
    """A calculation that there is not."""

    permission_classes = [may("calculations.run")]
    parser_classes = [NamingJSON]

    @extend_schema(exclude=True)
    def post(self, request: Request, name: str) -> HttpResponse:
        """A problem (404) that names those there are."""
        calculations.kind(name)
        raise RuntimeError(f"{name} has no address of its own")


urlpatterns = [
    path("calculations", Calculations.as_view(), name="calculations"),
    *(
        path(f"calculations/{one.name}", _view(one).as_view(), name=f"calculation-{one.name}")
        for one in calculations.KINDS.values()
    ),
    path("calculations/<slug:name>", Unknown.as_view(), name="calculation-unknown"),
]
