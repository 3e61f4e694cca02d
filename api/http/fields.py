"""Serializer fields that take what the OpenAPI document says and nothing near it; bodies without unknown members."""

import math
import re
import unicodedata
import uuid
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, Final

from django.contrib.gis.geos import GEOSGeometry
from django.utils.dateparse import parse_datetime
from rest_framework import serializers

from api.http.params import as_uid
from inventory.geo.geojson import read_geometry, write_geometry
from inventory.problems import Invalid

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt]([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](\.[0-9]+)?([Zz]|[+-]([01][0-9]|2[0-3]):[0-5][0-9])"
)


ONE_LINE: Final = 300
"""Texts of at most so many characters are names, tags and headings: they have one line."""
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_BREAKS: Final = re.compile(r"[\t\n\r\u2028\u2029\u202a-\u202e\u2066-\u2069]")
MOST_NAMED: Final = 20
"""Unknown members named at most: an answer must not grow with what was sent."""
FIRST_YEAR: Final = 1000
FIRST_INSTANT: Final = 1900
LAST_YEAR: Final = 2199
"""Years that a day (an old tree was planted on one) and an instant may lie in; beyond them arithmetic runs out."""


class Body(serializers.Serializer[Any]):
    """Base of what clients send: an unknown member is refused, not ignored."""

    def to_internal_value(self, data: Any) -> Any:
        """Read the members. Raises ValidationError naming each unknown one."""
        if isinstance(data, dict):
            fields = self.fields
            unknown = [name for name in data if name not in fields or fields[name].read_only]
            if unknown:
                raise serializers.ValidationError({name: ["is not a member here"] for name in unknown[:MOST_NAMED]})
        return super().to_internal_value(data)


class Number(serializers.FloatField):
    """A finite JSON number: no text, no true."""

    def to_internal_value(self, data: Any) -> float:
        """Return the float."""
        if isinstance(data, bool) or not isinstance(data, (int, float)):
            self.fail("invalid")
        if (isinstance(data, int) and abs(data) > 10**15) or not math.isfinite(data):
            raise serializers.ValidationError("must be a finite number of ordinary size")
        return float(data)


class Whole(serializers.IntegerField):
    """A whole JSON number: no text, no true."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"min_value": -(2**31), "max_value": 2**31 - 1} | options)

    def to_internal_value(self, data: Any) -> int:
        """Return the int (1.0 counts as whole, as in JSON Schema)."""
        if isinstance(data, bool) or not isinstance(data, (int, float)) or data != data // 1:
            self.fail("invalid")
        return int(data)


class Text(serializers.CharField):
    """A JSON string, without surrounding blanks; 2,000 characters unless told. A short one (a name, a tag) is one line.

    What would make it look different from what it is, on a screen or in a terminal, is refused.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"max_length": 2000} | options)

    def to_internal_value(self, data: Any) -> str:
        """Return the text."""
        if not isinstance(data, str):
            self.fail("invalid")
        found = super().to_internal_value(data)
        if _CONTROLS.search(found):
            raise serializers.ValidationError("must not hold control characters")
        if (self.max_length or 0) <= ONE_LINE and _BREAKS.search(found):
            raise serializers.ValidationError("must be one line, without marks that turn the direction of writing")
        if not any(unicodedata.category(sign)[0] in "LMNPS" for sign in found):
            # Blanks and joiners that no line shows: as good as empty.
            return str(self.run_validation(""))
        return found


class Flag(serializers.BooleanField):
    """true or false, nothing else."""

    def to_internal_value(self, data: Any) -> bool:
        """Return the bool."""
        if not isinstance(data, bool):
            raise serializers.ValidationError("must be true or false")
        return data


class Word(serializers.ChoiceField):
    """One of a few words."""

    def to_internal_value(self, data: Any) -> str:
        """Return the word."""
        if not isinstance(data, str) or data not in self.choices:
            self.fail("invalid_choice", input=str(data)[:50])
        return data


class Day(serializers.DateField):
    """A date, YYYY-MM-DD."""

    def to_internal_value(self, value: Any) -> date:
        """Return the date."""
        if isinstance(value, str) and _DAY.fullmatch(value):
            try:
                found = date.fromisoformat(value)
            except ValueError as error:
                raise serializers.ValidationError("there is no such day") from error
            if not FIRST_YEAR <= found.year <= LAST_YEAR:
                raise serializers.ValidationError(f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}")
            return found
        raise serializers.ValidationError("must be a date, YYYY-MM-DD")


class Instant(serializers.DateTimeField):
    """An RFC 3339 instant with its offset."""

    def to_internal_value(self, value: Any) -> datetime:
        """Return the aware datetime."""
        if isinstance(value, str) and _INSTANT.fullmatch(value):
            try:
                found = parse_datetime(value.upper())
            except ValueError:
                found = None
            if found is not None and not FIRST_INSTANT <= found.year <= LAST_YEAR:
                raise serializers.ValidationError(f"must lie in the years {FIRST_INSTANT} to {LAST_YEAR}")
            if found is not None:
                return found
        raise serializers.ValidationError("must be an instant such as 2026-05-01T09:30:00Z")


class Uid(serializers.UUIDField):
    """A UUID in its ordinary form."""

    def to_internal_value(self, data: Any) -> uuid.UUID:
        """Return the UUID."""
        found = as_uid(data) if isinstance(data, str) else None
        if found is None:
            raise serializers.ValidationError("must be a UUID such as 8f14e45f-ceea-4c8a-9c1b-2f3a1d0e7b60")
        return found


class Geometry(serializers.Field[GEOSGeometry, Any, dict[str, Any], GEOSGeometry]):
    """A GeoJSON geometry of the given types, in WGS 84."""

    def __init__(self, kinds: Sequence[str] = ("Point",), max_vertices: int = 10_000, **options: Any) -> None:
        super().__init__(**options)
        self.kinds = tuple(kinds)
        self.max_vertices = max_vertices

    def to_internal_value(self, data: Any) -> GEOSGeometry:
        """Return the geometry."""
        try:
            return read_geometry(data, self.kinds, self.max_vertices)
        except Invalid as refused:
            raise serializers.ValidationError(_nested(refused)) from refused

    def to_representation(self, value: GEOSGeometry) -> dict[str, Any]:
        """Return the GeoJSON object."""
        return write_geometry(value)


def _nested(refused: Invalid) -> dict[str, Any]:
    """The problems of a part as the nested errors that serializers use."""
    found: dict[str, Any] = {}
    for error in refused.errors:
        *path, last = error.pointer.removeprefix("#").strip("/").split("/")
        inner = found
        for step in path:
            inner = inner.setdefault(step, {})
        inner[last or "non_field_errors"] = [error.detail]
    return found


class Array(serializers.ListField):
    """A JSON array; 1,000 items unless told."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"max_length": 1000} | options)

    def to_internal_value(self, data: Any) -> list[Any]:
        """Return the list."""
        if not isinstance(data, list):
            self.fail("not_a_list", input_type=type(data).__name__)
        return super().to_internal_value(data)
