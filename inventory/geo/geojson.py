"""GeoJSON geometries (RFC 7946), read strictly before GEOS sees them, and written with closed, right-handed rings."""

import math
from collections.abc import Iterator, Sequence
from typing import Any, Final

from django.contrib.gis.geos import (
    GEOSException,
    GEOSGeometry,
    LinearRing,
    LineString,
    MultiLineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
)

from inventory.geo.crs import WGS84
from inventory.problems import Invalid

# How deep the positions lie in `coordinates`.
DEPTHS: Final = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}
DECIMALS: Final = 7
"""Decimals of degrees written: about 1 cm (RFC 7946, 11.2)."""

Position = tuple[float, float]


class _Reader:
    """Reads one geometry and counts its positions on the way."""

    def __init__(self, at: str, most: int) -> None:
        self.at = at
        self.left = self.most = most

    def nested(self, value: Any, depth: int, pointer: str) -> Any:
        """Positions nested `depth` deep, as tuples."""
        if depth == 0:
            return self.position(value, pointer)
        if not isinstance(value, (list, tuple)) or not value:
            raise Invalid.field(pointer, "must be a list that is not empty")
        return [self.nested(part, depth - 1, f"{pointer}/{place}") for place, part in enumerate(value)]

    def position(self, value: Any, pointer: str) -> Position:
        """One position: longitude, latitude, perhaps a height (which is not kept)."""
        self.left -= 1
        if self.left < 0:
            raise Invalid.field(self.at, f"has more than {self.most} positions")
        if not isinstance(value, (list, tuple)) or not 2 <= len(value) <= 3:
            raise Invalid.field(pointer, "must be [longitude, latitude]")
        for part in value:
            if isinstance(part, bool) or not isinstance(part, (int, float)) or not _finite(part):
                raise Invalid.field(pointer, "must hold finite numbers only")
        longitude, latitude = float(value[0]), float(value[1])
        if not (-180 <= longitude <= 180 and -90 <= latitude <= 90):
            raise Invalid.field(pointer, "lies outside longitude -180..180, latitude -90..90")
        return longitude, latitude


def read_geometry(value: Any, kinds: Sequence[str], max_vertices: int = 10_000, at: str = "#") -> GEOSGeometry:
    """Return the geometry (EPSG:4326) that a parsed GeoJSON object describes.

    `kinds` are the types allowed; `at` is the JSON pointer of the object. Raises Invalid, naming the place: not finite
    or out of range, more than three ordinates, a ring of fewer than four positions, not closed or crossing itself,
    a line of one point, a `crs` member, more than `max_vertices` positions.
    """
    if not isinstance(value, dict):
        raise Invalid.field(at, "must be a GeoJSON geometry")
    if "crs" in value:
        raise Invalid.field(f"{at}/crs", "GeoJSON is always in WGS 84: leave `crs` out")
    kind = value.get("type")
    if not isinstance(kind, str) or kind not in kinds:
        raise Invalid.field(f"{at}/type", f"must be {' or '.join(kinds)}")
    pointer = f"{at}/coordinates"
    coordinates = _Reader(at, max_vertices).nested(value.get("coordinates"), DEPTHS[kind], pointer)
    _check_parts(kind, coordinates, pointer)
    return _built(kind, coordinates, at)


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number beyond every float
        return False


def _check_parts(kind: str, coordinates: Any, pointer: str) -> None:
    if kind in ("LineString", "MultiLineString"):
        for line, place in _parts(coordinates, DEPTHS[kind] - 1, pointer):
            if len(set(line)) < 2:
                raise Invalid.field(place, "a line needs two different positions at least")
    if kind in ("Polygon", "MultiPolygon"):
        for ring, place in _parts(coordinates, DEPTHS[kind] - 1, pointer):
            if len(ring) < 4:
                raise Invalid.field(place, "a ring needs four positions at least")
            if ring[0] != ring[-1]:
                raise Invalid.field(place, "a ring must end where it begins")


def _parts(value: Any, depth: int, pointer: str) -> Iterator[tuple[list[Position], str]]:
    if depth == 0:
        yield value, pointer
    else:
        for place, part in enumerate(value):
            yield from _parts(part, depth - 1, f"{pointer}/{place}")


def _built(kind: str, coordinates: Any, at: str) -> GEOSGeometry:
    try:
        geometry: GEOSGeometry = _MAKERS[kind](coordinates)
    except (GEOSException, ValueError, TypeError) as error:
        raise Invalid.field(at, "is not a geometry") from error
    geometry.srid = WGS84
    if geometry.empty or not geometry.valid:
        reason = "" if geometry.empty else f" ({geometry.valid_reason})"
        raise Invalid.field(at, f"crosses or repeats itself{reason}")
    return geometry


_MAKERS: Final[dict[str, Any]] = {
    "Point": lambda found: Point(*found),
    "MultiPoint": lambda found: MultiPoint(*(Point(*part) for part in found)),
    "LineString": lambda found: LineString(found),
    "MultiLineString": lambda found: MultiLineString(*(LineString(part) for part in found)),
    "Polygon": lambda found: Polygon(*found),
    "MultiPolygon": lambda found: MultiPolygon(*(Polygon(*part) for part in found)),
}


def write_geometry(geometry: GEOSGeometry) -> dict[str, Any]:
    """The geometry (EPSG:4326) as a GeoJSON object: 7 decimals, outer rings counter-clockwise, holes clockwise."""
    if isinstance(geometry, MultiPolygon):
        return {"type": "MultiPolygon", "coordinates": [_rings(part) for part in geometry if isinstance(part, Polygon)]}
    if isinstance(geometry, Polygon):
        return {"type": "Polygon", "coordinates": _rings(geometry)}
    return {"type": geometry.geom_type, "coordinates": _rounded(geometry.coords)}  # type: ignore[attr-defined]


def _rings(polygon: Polygon) -> list[list[list[float]]]:
    return [_turned(polygon[place], counter=place == 0) for place in range(len(polygon))]


def _turned(ring: LinearRing, *, counter: bool) -> list[list[float]]:
    positions: list[list[float]] = _rounded(ring.coords)
    return positions if ring.is_counterclockwise == counter else positions[::-1]


def _rounded(coords: Any) -> Any:
    if isinstance(coords, (int, float)):
        return round(coords, DECIMALS)
    if coords and isinstance(coords[0], (int, float)):
        return [round(part, DECIMALS) for part in coords[:2]]
    return [_rounded(part) for part in coords]
