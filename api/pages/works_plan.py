"""The plan of planned works: the works, the trees near them, and their root protection circles, to scale."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.conf import settings
from django.contrib.gis.geos import GEOSGeometry, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon
from django.utils.safestring import SafeString

from api.pages import svg

MOST_DRAWN: Final = 300


def draw(works: GEOSGeometry, features: Sequence[Mapping[str, Any]], system: str) -> SafeString:
    """Draw the works and the nearest MOST_DRAWN trees, given as GeoJSON features of `trees_near`."""
    shown = features[:MOST_DRAWN]
    shape = works.transform(settings.METRIC_SRID, clone=True)
    middle = shape.centroid
    spots = [
        _spot(feature["properties"], place.x - middle.x, place.y - middle.y)
        for feature, place in zip(shown, _places(shown), strict=True)
    ]
    title = f"Plan of the works and the {len(shown)} trees nearest to them"
    return svg.draw(svg.Plan(title, spots, works=_outlines(shape, middle), beyond_m=4.0, units=system, width=svg.WIDE))


def _places(features: Sequence[Mapping[str, Any]]) -> list[Point]:
    if not features:
        return []
    places = MultiPoint(*(Point(*feature["geometry"]["coordinates"]) for feature in features), srid=4326)
    places.transform(settings.METRIC_SRID)
    return [place for place in places if isinstance(place, Point)]


def _spot(tree: Mapping[str, Any], east_m: float, north_m: float) -> svg.Spot:
    return svg.Spot(
        east_m=east_m,
        north_m=north_m,
        label=tree["tag"] or "",
        crown_m=tree["crown_m"],
        stem_cm=tree["dbh_cm"] or tree["dbh_high_cm"],
        protection_m=tree["root_protection_radius_m"],
        subject=bool(tree["zone_touched"]),
    )


def _outlines(shape: GEOSGeometry, middle: Point) -> list[svg.Outline]:
    parts = list(shape) if isinstance(shape, MultiLineString | MultiPolygon) else [shape]
    return [_outline(part, middle) for part in parts]


def _outline(part: GEOSGeometry, middle: Point) -> svg.Outline:
    if isinstance(part, Polygon):
        rings = [part[place] for place in range(len(part))]
    else:
        rings = [part] if isinstance(part, LineString) else []
    moved = [[(x - middle.x, y - middle.y) for x, y, *_ in ring.coords] for ring in rings]
    return svg.Outline(moved, closed=isinstance(part, Polygon))
