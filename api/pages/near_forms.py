"""The form that asks which trees stand near planned works, and the reading of the works from GeoJSON."""

import json
from typing import Any, Final

from django import forms
from django.contrib.gis.geos import GEOSGeometry, LineString, MultiLineString, MultiPolygon, Polygon

from assessments import projects
from inventory.geo import geojson
from inventory.problems import Invalid
from inventory.rules import FOOT_M

EXAMPLE: Final = '{"type": "LineString", "coordinates": [[-29.5010, 45.0000], [-29.4995, 45.0002]]}'
_MOST_CHARACTERS: Final = 2_000_000


class NearForm(forms.Form):
    """The works as GeoJSON, pasted or as a file, and a distance in the reader's units."""

    works = forms.CharField(
        label="The works as GeoJSON",
        required=False,
        max_length=_MOST_CHARACTERS,
        widget=forms.Textarea(attrs={"rows": 7, "spellcheck": "false"}),
        help_text="A line or an area in WGS 84 (longitude, latitude): a geometry, a feature or a feature collection.",
    )
    file = forms.FileField(
        label="or a file",
        required=False,
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".geojson,.json,application/geo+json"}),
    )
    distance = forms.FloatField(min_value=0)

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        self._unit_m = FOOT_M if units == "us" else 1.0
        start = 30 if units == "us" else 10
        kwargs.setdefault("initial", {"distance": start})
        super().__init__(*args, **kwargs)
        self.fields["works"].wide = True  # type: ignore[attr-defined]
        most = projects.MAX_DISTANCE_M / self._unit_m
        name = "ft" if units == "us" else "m"
        self.fields["distance"].label = f"Distance from the works ({name})"
        self.fields["distance"].help_text = f"At most {most:.0f} {name}."

    def clean(self) -> dict[str, Any]:
        """A file wins over what was pasted and takes its place in the field."""
        found = super().clean() or {}
        upload = found.get("file")
        if upload is not None and upload.size > _MOST_CHARACTERS:
            self.add_error("file", "is larger than 2 MB")
            return found
        try:
            text = upload.read().decode() if upload is not None else found.get("works", "")
            found["shape"] = read_works(text)
            found["works"] = text
        except UnicodeDecodeError:
            self.add_error("file", "is not text in UTF-8")
        except Invalid as refusal:
            self.add_error("file" if upload is not None else "works", refusal.errors[0].detail)
        return found

    @property
    def distance_m(self) -> float:
        """The distance asked for, in metres."""
        return float(self.cleaned_data["distance"]) * self._unit_m


def read_works(text: str) -> GEOSGeometry:
    """Read the works from a geometry, a feature or a feature collection. Raises Invalid."""
    if not text.strip():
        raise Invalid.field("#/works", "paste the works or choose a file")
    try:
        given = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise Invalid.field("#/works", f"is not JSON: {error}") from error
    shapes = [geojson.read_geometry(one, projects.GEOMETRIES, projects.MAX_VERTICES) for one in _geometries(given)]
    if len(shapes) == 1:
        return shapes[0]
    return _joined(shapes)


def _geometries(given: Any) -> list[Any]:
    kind = given.get("type") if isinstance(given, dict) else None
    if kind == "FeatureCollection":
        features = given.get("features")
        if not isinstance(features, list) or not features:
            raise Invalid.field("#/works", "the collection has no features")
        return [found for feature in features for found in _geometries(feature)]
    return [given.get("geometry") if kind == "Feature" else given]


def _joined(shapes: list[GEOSGeometry]) -> GEOSGeometry:
    """Several lines become one of several parts, several areas their union."""
    lines = [part for shape in shapes for part in _parts(shape) if isinstance(part, LineString)]
    areas = [part for shape in shapes for part in _parts(shape) if isinstance(part, Polygon)]
    if lines and areas:
        raise Invalid.field("#/works", "holds lines and areas: ask about them one after the other")
    if lines:
        return MultiLineString(*lines, srid=4326)
    return MultiPolygon(*areas, srid=4326).unary_union


def _parts(shape: GEOSGeometry) -> list[GEOSGeometry]:
    return list(shape) if isinstance(shape, MultiLineString | MultiPolygon) else [shape]
