"""Works as GeoJSON, read strictly into polygons in metres about the stem; lines are widened to the width given."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely

from assessments.methods.problems import MethodProblem, number
from assessments.methods.request import Fields

from . import plane

METHOD: Final = "works_about_a_stem"
VERSION: Final = 1

PLANES: Final = ("lonlat", "metric")
MOST_POSITIONS: Final = 10_000
DEPTHS: Final = {"LineString": 1, "Polygon": 2, "MultiLineString": 2, "MultiPolygon": 3}
_FARTHEST_METRIC: Final = 1e8
_NEEDS_LONLAT: Final = (180.0, 90.0)

Project = Callable[[list[tuple[float, float]]], Any]


@dataclass(frozen=True)
class Works:
    """Areas of the works in metres east and north of the stem, (n,) polygons that may overlap."""

    areas: tuple[shapely.Geometry, ...]

    @property
    def nearest_m(self) -> float:
        """Distance from the stem's centre to the works; 0 where it stands in them."""
        return float(np.min(shapely.distance(shapely.Point(0, 0), np.array(self.areas))))

    def within(self, radius_m: float) -> shapely.Geometry:
        """Union of the areas that come nearer than a radius: what overlaps counts once."""
        found = np.array(self.areas)
        return shapely.union_all(found[shapely.distance(shapely.Point(0, 0), found) < radius_m])


@dataclass
class _Reading:
    """What reading works needs to know, and how many positions it may still take."""

    project: Project
    bounds: tuple[float, float]
    width_m: float | None
    left: int = MOST_POSITIONS


def read(fields: Fields) -> Works:
    """Read `works`, `location`, `plane` and `works_width_m` of a request. Raises MethodProblem."""
    lonlat = fields.choice("plane", PLANES, "lonlat") == "lonlat"
    bounds = _NEEDS_LONLAT if lonlat else (_FARTHEST_METRIC, _FARTHEST_METRIC)
    origin = location(fields, bounds)

    def project(ring: list[tuple[float, float]]) -> Any:
        return plane.metres_from(origin, ring) if lonlat else np.asarray(ring) - origin

    reading = _Reading(project, bounds, fields.maybe("works_width_m", 0, 200, above=True))
    parts = list(_geometries(fields.needed("works"), fields.at("works")))
    areas = [area for value, pointer in parts for area in _areas(value, pointer, reading, lonlat, origin)]
    return Works(tuple(areas))


def location(fields: Fields, bounds: tuple[float, float]) -> tuple[float, float]:
    """Read where the stem stands: a GeoJSON Point or [x, y]. Raises MethodProblem."""
    value, at = fields.needed("location"), fields.at("location")
    if isinstance(value, dict):
        point = Fields(value, at, ("type", "coordinates"))
        if value.get("type") != "Point":
            raise point.wrong("type", "must be Point")
        value, at = point.needed("coordinates"), point.at("coordinates")
    return _position(value, at, bounds)


def _position(value: object, at: str, bounds: tuple[float, float]) -> tuple[float, float]:
    if not _listed(value) or not 2 <= len(value) <= 3:  # type: ignore[arg-type]
        raise MethodProblem(at, "must be [longitude, latitude], or [x, y] in the metric plane")
    x, y = (number(value[n], f"{at}/{n}", -bounds[n], bounds[n]) for n in (0, 1))  # type: ignore[index]
    return x, y


def _listed(value: object) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)


def _geometries(value: object, at: str) -> Iterator[tuple[dict[str, Any], str]]:
    """The geometries of a geometry, a feature or a collection of features, each with its pointer."""
    if not isinstance(value, dict):
        raise MethodProblem(at, "must be a GeoJSON geometry, feature or feature collection")
    kind = value.get("type")
    if kind == "FeatureCollection":
        features = value.get("features")
        if not _listed(features) or not features:
            raise MethodProblem(f"{at}/features", "must be an array that is not empty")
        for place, feature in enumerate(features):
            if not isinstance(feature, dict) or feature.get("type") != "Feature":
                raise MethodProblem(f"{at}/features/{place}", "must be a feature")
            yield from _geometries(feature, f"{at}/features/{place}")
    elif kind == "Feature":
        yield from _plain(value.get("geometry"), f"{at}/geometry")
    else:
        yield from _plain(value, at)


def _plain(value: object, at: str) -> Iterator[tuple[dict[str, Any], str]]:
    if not isinstance(value, dict):
        raise MethodProblem(at, "must be a GeoJSON geometry")
    if not isinstance(value.get("type"), str) or value["type"] not in DEPTHS:
        raise MethodProblem(f"{at}/type", f"must be one of {', '.join(DEPTHS)}")
    if "crs" in value:
        raise MethodProblem(f"{at}/crs", "is not read: leave it out")
    yield value, at


def _areas(
    value: dict[str, Any], at: str, reading: _Reading, lonlat: bool, origin: tuple[float, float]
) -> Iterator[shapely.Geometry]:
    line = value["type"] in ("LineString", "MultiLineString")
    if line and reading.width_m is None:
        raise MethodProblem("/works_width_m", "is missing: a line has no area until its width is given")
    several = value["type"].startswith("Multi")
    parts = value.get("coordinates")
    pointer = f"{at}/coordinates"
    if several and (not _listed(parts) or not parts):
        raise MethodProblem(pointer, "must be an array that is not empty")
    found = [(part, f"{pointer}/{place}") for place, part in enumerate(parts or ())] if several else [(parts, pointer)]
    for part, place in found:
        if line:
            points = _ring(part, place, reading, 2)
            _near_enough(points, place, lonlat, origin)
            drawn = shapely.LineString(reading.project(points))
            yield shapely.buffer(drawn, (reading.width_m or 0.0) / 2, cap_style="flat", join_style="mitre")
        else:
            yield _polygon(part, place, reading, lonlat, origin)


def _polygon(value: object, at: str, reading: _Reading, lonlat: bool, origin: tuple[float, float]) -> shapely.Geometry:
    if not _listed(value) or not value:
        raise MethodProblem(at, "must be an array of rings")
    rings = []
    for place, ring in enumerate(value):  # type: ignore[var-annotated, arg-type]
        points = _ring(ring, f"{at}/{place}", reading, 4)
        if points[0] != points[-1]:
            raise MethodProblem(f"{at}/{place}", "must end where it begins")
        _near_enough(points, f"{at}/{place}", lonlat, origin)
        rings.append(reading.project(points))
    polygon = shapely.Polygon(rings[0], rings[1:])
    if not polygon.is_valid or polygon.area <= 0:
        raise MethodProblem(at, "crosses or repeats itself, or has no area")
    return polygon


def _ring(value: object, at: str, reading: _Reading, least: int) -> list[tuple[float, float]]:
    if not _listed(value) or len(value) < least:  # type: ignore[arg-type]
        raise MethodProblem(at, f"must be an array of {least} positions or more")
    reading.left -= len(value)  # type: ignore[arg-type]
    if reading.left < 0:
        raise MethodProblem("/works", f"has more than {MOST_POSITIONS} positions")
    points = [_position(point, f"{at}/{place}", reading.bounds) for place, point in enumerate(value)]  # type: ignore[arg-type, var-annotated]
    if len(set(points)) < 2:
        raise MethodProblem(at, "needs two different positions or more")
    return points


def _near_enough(points: list[tuple[float, float]], at: str, lonlat: bool, origin: tuple[float, float]) -> None:
    if lonlat and bool(plane.far(origin, points).any()):
        raise MethodProblem(at, f"lies more than {plane.FARTHEST_M / 1000:g} km from the tree")
