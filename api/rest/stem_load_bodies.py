"""What an inspector sends of a stem load: a JSON object of ordinary values; every further rule is the method's own."""

from typing import Any, Final

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.http.fields import ONE_LINE, Text, Uid
from assessments.calculations.stem_load import INPUT
from assessments.records import StemLoadRecord

DEEPEST: Final = 6
MOST_VALUES: Final = 1000
_LARGEST: Final = 1e15
_PLACES: Final = INPUT["properties"]["sections"]
_PLACE: Final = _PLACES["items"]


def _without(parts: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in parts.items() if key != name}


SCHEMA: Final[dict[str, Any]] = {
    **_without(INPUT, "required"),
    "type": "object",
    "description": "The request of POST /api/v1/calculations/stem-load. The sections of the inspection are put in at "
    "their heights; species, height, girth and crown width are the tree's and the wind is the city's if left out.",
    "properties": {
        **INPUT["properties"],
        "sections": {**_PLACES, "items": {**_PLACE, "properties": _without(_PLACE["properties"], "section")}},
        "uid": {"type": ["string", "null"], "format": "uuid"},
    },
}


@extend_schema_field(SCHEMA)
class StemLoadField(serializers.Field[Any, Any, Any, Any]):
    """The request of a stem load. Members sent as null count as not sent."""

    def to_internal_value(self, data: Any) -> StemLoadRecord:
        """Return the record. Raises ValidationError for what is no object of ordinary values or brings a section."""
        if not isinstance(data, dict):
            raise serializers.ValidationError("must be an object")
        said = _said(data, 0, [0])
        given = said.get("sections")
        for place, one in enumerate(given if isinstance(given, list) else ()):
            if isinstance(one, dict) and "section" in one:
                detail = "is not a member here: the sections of the inspection are put in at their heights"
                raise serializers.ValidationError({"sections": {str(place): {"section": [detail]}}})
        uid = said.pop("uid", None)
        return StemLoadRecord(said, None if uid is None else _uid(uid))

    def to_representation(self, value: Any) -> Any:
        """As it is."""
        return value


def _uid(value: Any) -> Any:
    try:
        return Uid().run_validation(value)
    except serializers.ValidationError as error:
        raise serializers.ValidationError({"uid": error.detail}) from error


def _said(value: Any, depth: int, count: list[int]) -> Any:
    """The value without what is null. Raises ValidationError for what no request of the method can hold."""
    count[0] += 1
    if depth > DEEPEST or count[0] > MOST_VALUES:
        raise serializers.ValidationError("is nested too deeply or holds too many values")
    if isinstance(value, dict):
        return {_text(key): _inner(key, item, depth, count) for key, item in value.items() if item is not None}
    if isinstance(value, list):
        return [_inner(str(place), item, depth, count) for place, item in enumerate(value)]
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int | float) and not -_LARGEST <= value <= _LARGEST:
        raise serializers.ValidationError("must hold finite numbers of ordinary size")
    return value


def _inner(name: str, value: Any, depth: int, count: list[int]) -> Any:
    """A member; its problem says where it stands."""
    try:
        return _said(value, depth + 1, count)
    except serializers.ValidationError as error:
        raise serializers.ValidationError({name: error.detail}) from error


def _text(value: str) -> str:
    return str(Text(max_length=ONE_LINE, allow_blank=True).run_validation(value))
