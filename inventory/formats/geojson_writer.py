"""Writes GeoJSON feature collections (RFC 7946) as a stream."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.contrib.gis.geos import GEOSGeometry

from inventory.geo.geojson import write_geometry

MEDIA_TYPE: Final = "application/geo+json"


@dataclass(frozen=True)
class Feature:
    """One feature; the geometry in EPSG:4326, or None where the place is not known."""

    id: str
    geometry: GEOSGeometry | None
    properties: Mapping[str, Any]


def write(features: Iterable[Feature]) -> Iterator[bytes]:
    """Yield the collection feature by feature. Raises ValueError for a number that JSON does not have."""
    yield b'{"type":"FeatureCollection","features":['
    comma = ""
    for feature in features:
        yield f"{comma}{_text(feature)}".encode()
        comma = ","
    yield b"]}"


def _text(feature: Feature) -> str:
    document = {
        "type": "Feature",
        "id": feature.id,
        "geometry": write_geometry(feature.geometry) if feature.geometry else None,
        "properties": dict(feature.properties),
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=str)
