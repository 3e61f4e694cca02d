"""The OpenAPI document: declared parameters, strict bodies, the problems that every operation may answer."""

from typing import Any, Final

from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter

from api.http.fields import Body
from api.http.kinds import KINDS
from api.http.params import Param
from api.http.permissions import PUBLIC, ByMethod
from api.http.problem import MEDIA_TYPE
from inventory.geo.geojson import DEPTHS

_ALWAYS: Final = (400, 401, 403, 406, 429, 500, 503)
_WRITING: Final = (409, 413, 415)
PROBLEM: Final[dict[str, Any]] = {
    "type": "object",
    "description": "A problem (RFC 9457). `type` is one of the addresses below /problems/, each with its explanation.",
    "required": ["type", "title", "status", "detail", "instance", "request_id"],
    "properties": {
        "type": {"type": "string", "enum": [f"/problems/{kind}" for kind in KINDS]},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string", "description": "The path that was asked."},
        "request_id": {"type": "string", "description": "The id of this request in the log and the history."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON pointer into the body."},
                    "parameter": {"type": "string", "description": "Name of a query parameter."},
                    "detail": {"type": "string"},
                },
            },
        },
    },
    "example": {
        "type": "/problems/invalid",
        "title": "What was sent breaks a rule",
        "status": 400,
        "detail": "height_m: must lie in 0.1..130",
        "instance": "/api/v1/trees",
        "request_id": "0b9f2f62-6d0c-4a53-8e0b-3a1c58a1f8f5",
        "errors": [{"pointer": "#/height_m", "detail": "must lie in 0.1..130"}],
    },
}
_KEY = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$"},
    OpenApiParameter.HEADER,
    required=True,
    description="A new key a request, at most 200 printable ASCII characters; the same key with the same content"
    " gets the first answer for 90 days, with other content 422.",
)
_MATCH = OpenApiParameter(
    "If-Match",
    {"type": "string", "minLength": 1, "maxLength": 500},
    OpenApiParameter.HEADER,
    required=True,
    description="The ETag that was read; 412 where it was changed since, 428 without.",
)


class BearerScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How a token is sent."""

    target_class = "api.http.tokens.BearerToken"
    name = "bearer"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """The security scheme."""
        return {"type": "http", "scheme": "bearer", "description": "A token from POST /api/v1/tokens."}


_POSITION: Final[dict[str, Any]] = {
    "type": "array",
    "items": {"type": "number"},
    "minItems": 2,
    "maxItems": 3,
    "description": "Longitude, latitude (WGS 84).",
}


class GeometryField(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """GeoJSON geometries."""

    target_class = "api.http.fields.Geometry"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        """One schema a type allowed."""
        schemas = [_geometry(kind) for kind in self.target.kinds]
        return schemas[0] if len(schemas) == 1 else {"oneOf": schemas}


def _geometry(kind: str) -> dict[str, Any]:
    coordinates = _POSITION
    for _ in range(DEPTHS[kind]):
        coordinates = {"type": "array", "items": coordinates, "minItems": 1}
    members = {"type": {"type": "string", "enum": [kind]}, "coordinates": coordinates}
    example = {"example": {"type": "Point", "coordinates": [-29.5012, 45.0034]}} if kind == "Point" else {}
    return {"type": "object", "required": ["type", "coordinates"], "properties": members, **example}


class Schema(AutoSchema):
    """Describes a View by what it declares."""

    def get_override_parameters(self) -> list[Any]:
        """The declared query parameters, and the headers that a handler requires."""
        found: list[Any] = [_documented(param) for param in getattr(self.view, "params", {}).get(self.method, ())]
        handler = getattr(self.view, self.method.lower(), None)
        if getattr(handler, "idempotent", False):
            found.append(_KEY)
        if self.method in getattr(self.view, "matched", ()):
            found.append(_MATCH)
        return found

    def get_auth(self) -> list[dict[str, Any]]:
        """The security schemes; none needed where the role table lets the public in."""
        found = super().get_auth()
        permissions = [one for one in self.view.get_permissions() if isinstance(one, ByMethod)]
        open_to_all = bool(permissions) and all(one.action(self.method) == PUBLIC for one in permissions)
        return [*found, {}] if open_to_all and {} not in found else found

    def _postprocess_serializer_schema(self, schema: dict[str, Any], serializer: Any, direction: str) -> dict[str, Any]:
        found: dict[str, Any] = super()._postprocess_serializer_schema(schema, serializer, direction)  # type: ignore[no-untyped-call]
        if direction == "request" and isinstance(serializer, Body):
            found["additionalProperties"] = False
        return found


def _documented(param: Param) -> OpenApiParameter:
    commas = param.schema.get("type") == "array"
    return OpenApiParameter(
        param.name,
        param.schema,
        OpenApiParameter.QUERY,
        required=param.required,
        description=param.about,
        style="form" if commas else None,
        explode=False if commas else None,
    )


def add_problems(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: each operation lists the problems that it may answer with."""
    components = result.setdefault("components", {})
    components.setdefault("schemas", {})["Problem"] = PROBLEM
    reference = {"$ref": "#/components/schemas/Problem"}
    components.setdefault("responses", {})["Problem"] = {
        "description": "A problem; nothing was changed.",
        "content": {MEDIA_TYPE: {"schema": reference}},
    }
    for path, operations in result["paths"].items():
        for method, operation in operations.items():
            for status in _statuses(path, method, operation):
                operation["responses"].setdefault(str(status), {"$ref": "#/components/responses/Problem"})
    return result


def plain_nulls(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: any value or null is any value; as `oneOf` null would match both and so none."""
    found: dict[str, Any] = _plain(result)
    return found


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(part) for part in value]
    if not isinstance(value, dict):
        return value
    if value.get("oneOf") == [{}, {"type": "null"}]:
        value = {name: part for name, part in value.items() if name != "oneOf"}
    return {name: _plain(part) for name, part in value.items()}


def _statuses(path: str, method: str, operation: dict[str, Any]) -> list[int]:
    headers = {parameter["name"] for parameter in operation.get("parameters", ()) if parameter["in"] == "header"}
    found = [*_ALWAYS]
    if "{" in path:
        found.append(404)
    if method != "get":
        found += _WRITING
    if "Idempotency-Key" in headers:
        found.append(422)
    if "If-Match" in headers:
        found += [412, 428]
    return sorted(found)
