"""What an inspector sends of a section: members and types as JSON; every further rule is the method's own."""

from typing import Any, Final

from rest_framework import serializers

from api.http.fields import Body, Number, Uid, Whole, Word
from assessments.methods import tables
from assessments.methods.section import contract
from assessments.records import SectionRecord

_METHODS: Final = tuple(row["method"] for row in tables.read("reading_errors"))
_AZIMUTH: Final = "Degrees clockwise from north."


def _maybe(field: type[serializers.Field[Any, Any, Any, Any]], *args: Any, **options: Any) -> Any:
    """A member that may be left out or null."""
    return field(*args, **{"required": False, "allow_null": True} | options)


def _many(body: Any, most: int) -> Any:
    return body(many=True, required=False, max_length=most)


def _ring(**options: Any) -> serializers.ListField:
    point = serializers.ListField(child=Number(), min_length=2, max_length=2)
    return serializers.ListField(child=point, min_length=3, max_length=contract.MOST_VERTICES, **options)


class ReadingBody(Body):
    """Sound wood along the ray to the centre at one azimuth, without bark."""

    azimuth_deg = Number(help_text=_AZIMUTH)
    sound_wall_cm = Number(help_text="From the surface without bark; may go on beyond the centre.")
    void_to_cm = _maybe(Number, help_text="Depth where sound wood begins again; without it the void holds the centre.")
    error_cm = _maybe(Number, help_text="Standard deviation of the reading; else by the method.")
    method = _maybe(Word, _METHODS)


class OpeningBody(Body):
    """A gap in the surface. Without a depth it runs to the void that it faces."""

    azimuth_deg = Number(help_text=_AZIMUTH)
    width_cm = Number(help_text="The straight gap at the wood's surface.")
    depth_cm = _maybe(Number)


class CrackBody(Body):
    """A radial crack."""

    azimuth_deg = Number(help_text=_AZIMUTH)
    gap_to_edge_cm = Number(help_text="Sound wood between the crack and the surface; 0: it reaches the surface.")
    inner_radius_cm = Number(help_text="Distance of its inner end from the centre.")


class SectionBody(Body):
    """What was measured of the stem at one height: the outline one way, and the inside by readings or as drawn."""

    uid = _maybe(Uid)
    finding = _maybe(Whole, min_value=0, help_text="Place in `findings` of the cavity or decay that it looks into.")
    height_m = Number(help_text="Height above ground in m.")
    diameter_cm = _maybe(Number, help_text="Over bark. One of diameter_cm, girth_cm, outline_cm.")
    girth_cm = _maybe(Number, help_text="Over bark.")
    outline_cm = _ring(required=False, allow_null=True, help_text="Over bark: [x, y] with x east and y north.")
    bark_cm = _maybe(Number, help_text="Thickness of the bark, once.")
    readings = _many(ReadingBody, contract.MOST_READINGS)
    openings = _many(OpeningBody, contract.MOST_PARTS)
    voids_cm = serializers.ListField(child=_ring(), required=False, max_length=contract.MOST_PARTS)
    cracks = _many(CrackBody, contract.MOST_PARTS)
    draws = Whole(
        required=False, min_value=0, max_value=contract.MOST_DRAWS, help_text="At most; an inspection takes fewer."
    )
    seed = Whole(required=False, min_value=0)


def record(data: dict[str, Any]) -> SectionRecord:
    """The record of a checked body; what was sent as null counts as not sent."""
    measured = {name: _said(value) for name, value in data.items() if name not in ("uid", "finding")}
    return SectionRecord(_said(measured), data.get("finding"), data.get("uid"))


def _said(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _said(item) for name, item in value.items() if item is not None}
    return [_said(item) for item in value] if isinstance(value, list) else value
