"""What is sent of a felled stem: members and types as JSON; every further rule is the method's own."""

from typing import Any, Final

from rest_framework import serializers

from api.http.fields import Body, Day, Flag, Number, Text, Uid, Word
from api.rest.section_bodies import OpeningBody
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.methods.dissection import contract
from assessments.methods.section.contract import MOST_VERTICES
from assessments.models import dissection

_AZIMUTH: Final = "Degrees clockwise from north."
_OWN: Final = ("uid", "felled_on", "dissected_on", "reason", "note", "cuts")


def _maybe(field: type[serializers.Field[Any, Any, Any, Any]], **options: Any) -> Any:
    """A member that may be left out or null."""
    return field(**{"required": False, "allow_null": True} | options)


def _many(body: Any, most: int, **options: Any) -> Any:
    return body(many=True, required=False, max_length=most, **options)


def _ring(**options: Any) -> serializers.ListField:
    point = serializers.ListField(child=Number(), min_length=2, max_length=2)
    return serializers.ListField(child=point, min_length=3, max_length=MOST_VERTICES, **options)


class VoidBody(Body):
    """A decayed area or a cavity on the face: drawn, or a diameter or a share of the face with its offset."""

    polygon_cm = _ring(required=False, allow_null=True, help_text="[x, y] with x east and y north.")
    diameter_cm = _maybe(Number)
    diameter2_cm = _maybe(Number, help_text="At right angles to the first.")
    share_percent = _maybe(Number, help_text="Of the face.")
    azimuth_deg = _maybe(Number, help_text=_AZIMUTH)
    offset_cm = _maybe(Number, help_text="Of its middle from that of the face.")


class CutCrackBody(Body):
    """A radial crack on the face."""

    azimuth_deg = Number(help_text=_AZIMUTH)
    gap_to_edge_cm = _maybe(Number, help_text="Sound wood between the crack and the surface; 0: it reaches it.")
    run_cm = Number(help_text="How far it runs toward the centre.")


class CutBody(Body):
    """One cut. The least: where it is, how wide, what is hollow."""

    uid = _maybe(Uid)
    height_m = _maybe(Number, help_text="Above ground in m; or above_last_cm.")
    above_last_cm = _maybe(Number, help_text="From the cut before it; of the first, from the stump's height.")
    diameter_cm = _maybe(Number, help_text="Over bark. One of diameter_cm, girth_cm, outline_cm.")
    diameter2_cm = _maybe(Number, help_text="At right angles to the first.")
    diameter_azimuth_deg = _maybe(Number, help_text="Of the first diameter.")
    girth_cm = _maybe(Number)
    outline_cm = _ring(required=False, allow_null=True, help_text="Over bark: [x, y] with x east and y north.")
    bark_cm = _maybe(Number)
    decay = _many(VoidBody, contract.MOST_VOIDS)
    cavities = _many(VoidBody, contract.MOST_VOIDS)
    openings = _many(OpeningBody, contract.MOST_VOIDS)
    cracks = _many(CutCrackBody, 24)
    insects = Flag(required=False)
    roots_inside = Flag(required=False)
    note = Text(max_length=500, required=False, allow_blank=True)


class LaterCutBody(CutBody):
    """A cut that is added by itself; the client makes the `uid`, and it says its height above ground."""

    uid = Uid()
    height_m = Number(help_text="Above ground in m.")
    above_last_cm = None


class WeighedBody(Body):
    """A piece of the stem between two heights that was put on a scale."""

    from_m = Number()
    to_m = Number()
    mass_kg = Number()


class DissectionBody(Body):
    """A felled stem, cut by cut. The client makes the `uid`: the same uid and content is the same dissection."""

    uid = Uid()
    felled_on = Day()
    dissected_on = Day()
    reason = Word(dissection.REASONS, help_text="Why the tree was removed.")
    note = Text(required=False, allow_blank=True, default="")
    species = Text(max_length=200, required=False, help_text="Where it is not the tree's own.")
    green_density_kg_m3 = _maybe(Number)
    stump_height_m = _maybe(Number, help_text="What the first cut's above_last_cm counts from.")
    weighed = _many(WeighedBody, contract.MOST_WEIGHED)
    cuts = _many(CutBody, contract.MOST_CUTS, default=list, help_text="In order, from below.")


def cut_record(data: dict[str, Any]) -> CutRecord:
    """The record of a checked cut; what was sent as null or empty counts as not sent."""
    return CutRecord({name: _said(value) for name, value in data.items() if _given(name, value)}, data.get("uid"))


def _given(name: str, value: Any) -> bool:
    return name != "uid" and value is not None and value not in ("", [])


def _said(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _said(item) for name, item in value.items() if item is not None}
    return [_said(item) for item in value] if isinstance(value, list) else value


def dissection_record(data: dict[str, Any]) -> DissectionRecord:
    """The record of a checked dissection."""
    return DissectionRecord(
        **{name: data[name] for name in ("uid", "felled_on", "dissected_on", "reason", "note")},
        measured={name: _said(value) for name, value in data.items() if name not in _OWN and _given(name, value)},
        cuts=tuple(cut_record(cut) for cut in data["cuts"]),
    )
