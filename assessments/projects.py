"""Which trees stand near a planned project: the reads behind that question, built in SQL."""

import json
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.contrib.gis.geos import GEOSGeometry
from django.db import DataError, InternalError, connection, transaction

from assessments.methods import risk, root_zone
from inventory.problems import Invalid
from inventory.statements import statement

GEOMETRIES: Final = ("LineString", "MultiLineString", "Polygon", "MultiPolygon")
MAX_VERTICES: Final = 10_000
MAX_DISTANCE_M: Final = 200.0
MAX_LENGTH_M: Final = 100_000.0
MAX_AREA_M2: Final = 25_000_000.0
# More than this (of lines and outlines) is refused before the database sees it: it is over 100 km anywhere on land.
_MAX_LENGTH_DEG: Final = 10.0
# A project farther than this from every tree has wrong coordinates.
FAR_M: Final = 100_000.0
LARGEST_PAGE: Final = 5000
START: Final = (-1.0, 0)

CAUTION: Final = (
    "The root protection radius is a first distance for planning, not the extent of the roots, and counts from the "
    "centre of the stem. Trees without a known diameter have none; trees that are not in the inventory are not shown. "
    "Local codes and an arborist on site come first."
)


@dataclass(frozen=True)
class Near:
    """The answer: counts, one page of trees as a JSON array built in SQL, and where the next page starts (None: none).

    `touched` counts the trees among `total` whose root protection circle the works touch; `touched_beyond` those
    farther away than asked; `unmeasured` those without a diameter and so without a radius.
    """

    total: int
    touched: int
    touched_beyond: int
    unmeasured: int
    length_m: float
    area_m2: float
    trees: bytes
    last: tuple[float, int] | None


def trees_near(
    project: GEOSGeometry,
    distance_m: float,
    *,
    limit: int = 1000,
    after: tuple[float, int] = START,
    geojson: bool = False,
) -> Near:
    """The standing trees whose stem is within `distance_m` of a line or polygon (EPSG:4326), nearest first.

    One query. `trees` is an array of objects, or of GeoJSON features. The radius is 12 x stem diameter, at most 15 m
    (BS 5837:2012); a size class enters with its upper end. `after` is `last` of the page before. Raises Invalid for a
    project too large, far from every tree, or outside the area of the metric CRS.
    """
    if not 0 <= distance_m <= MAX_DISTANCE_M:
        raise Invalid.field("#/distance_m", f"must lie in 0..{MAX_DISTANCE_M:g}")
    if project.length > _MAX_LENGTH_DEG:
        raise Invalid.field("#/geometry", f"is longer than {MAX_LENGTH_M / 1000:g} km")
    row = _ask(_params(project, distance_m, min(limit, LARGEST_PAGE), after, geojson))
    length_m, area_m2, total, touched, unmeasured, beyond, trees, last, nearest_m = row
    if length_m > MAX_LENGTH_M:
        raise Invalid.field("#/geometry", f"is longer than {MAX_LENGTH_M / 1000:g} km")
    if area_m2 > MAX_AREA_M2:
        raise Invalid.field("#/geometry", f"is larger than {MAX_AREA_M2 / 1e6:g} square kilometres")
    if nearest_m is not None and nearest_m > FAR_M:
        far = f"lies {nearest_m / 1000:.0f} km from the nearest tree: positions are [longitude, latitude] in WGS 84"
        raise Invalid.field("#/geometry", far)
    return Near(
        total=total,
        touched=touched,
        touched_beyond=beyond,
        unmeasured=unmeasured,
        length_m=length_m,
        area_m2=area_m2,
        trees=trees.encode(),
        last=_cursor(last),
    )


def _params(
    project: GEOSGeometry, distance_m: float, limit: int, after: tuple[float, int], geojson: bool
) -> dict[str, Any]:
    return {
        "shape": bytes(project.ewkb),
        "srid": settings.METRIC_SRID,
        "distance_m": distance_m,
        "per_diameter": root_zone.RADIUS_PER_DIAMETER,
        "cap_m": root_zone.RADIUS_CAP_M,
        "max_length_m": MAX_LENGTH_M,
        "max_area_m2": MAX_AREA_M2,
        "limit": limit,
        "after_m": after[0],
        "after_id": after[1],
        "geojson": geojson,
        "risk_words": ["not_rated", *risk.RISK],
    }


def _ask(params: dict[str, Any]) -> tuple[float, float, int, int, int, int, str, str | None, float | None]:
    try:
        # A savepoint, because a failed statement would spoil the caller's transaction.
        with transaction.atomic(), connection.cursor() as cursor:
            # The planner cannot know how many pieces there are; compiling for its guess takes 100 times the query.
            cursor.execute("SET LOCAL jit = off")
            cursor.execute(statement("assessments", "near_project"), params)
            found: tuple[float, float, int, int, int, int, str, str | None, float | None] = cursor.fetchone()
            return found
    except (DataError, InternalError) as error:
        raise Invalid.field("#/geometry", "lies outside the area of the municipality's metric CRS") from error


def _cursor(last: str | None) -> tuple[float, int] | None:
    if last is None:
        return None
    distance_m, tree_id = json.loads(last)
    return float(distance_m), int(tree_id)
