"""Reads a GeoJSON feature collection of points (RFC 7946): properties become columns, the point a WKT cell."""

import json
import math
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from inventory.intake.delimited import unique
from inventory.intake.layout import BLOCK_ROWS, MAX_COLUMNS, Block, Layout, cell
from inventory.problems import Invalid

GEOMETRY = "geometry"


def lay_out(path: Path) -> Layout:
    """Check that it is a feature collection. Raises Invalid."""
    _features(path, path.stat().st_mtime_ns)
    return Layout("geojson")


def columns(path: Path, layout: Layout) -> list[str]:
    """The names of all properties in order of appearance, then the geometry. Raises Invalid."""
    names = _names(path)
    if len(names) > MAX_COLUMNS:
        raise Invalid.field("#/file", f"{len(names):,} properties; at most {MAX_COLUMNS} are read")
    return unique(iter([*map(cell, names), GEOMETRY]))


def blocks(path: Path, layout: Layout, width: int) -> Iterator[Block]:
    """The features in order; the line is the number of the feature, from 1."""
    features, names = _features(path, path.stat().st_mtime_ns), _names(path)
    for start in range(0, len(features), BLOCK_ROWS):
        part = features[start : start + BLOCK_ROWS]
        cells = [[_text(feature["properties"].get(name)) for feature in part] for name in names]
        cells.append([_point(feature.get("geometry")) for feature in part])
        lines = np.arange(start + 1, start + 1 + len(part), dtype=np.int64)
        yield Block(lines, cells, np.zeros(len(part), bool))


def declared(path: Path, layout: Layout) -> str:
    """What the old `crs` member names (RFC 7946 has none: WGS 84 then)."""
    crs = _document(path, path.stat().st_mtime_ns).get("crs")
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    return name[:200] if isinstance(name, str) else "" if crs else "EPSG:4326"


def _names(path: Path) -> list[str]:
    features = _features(path, path.stat().st_mtime_ns)
    return list(dict.fromkeys(name for feature in features for name in feature["properties"]))


# GeoJSON has no order to read it by: the whole document is held (its size is limited), the last one only.
@lru_cache(maxsize=1)
def _document(path: Path, changed: int) -> dict[str, Any]:
    try:
        document = json.loads(path.read_text("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise Invalid.field("#/file", f"not JSON: {error}") from error
    return document if isinstance(document, dict) else {}


@lru_cache(maxsize=1)
def _features(path: Path, changed: int) -> list[dict[str, Any]]:
    features = _document(path, changed).get("features")
    if not isinstance(features, list) or not features:
        raise Invalid.field("#/file", "JSON, but not a GeoJSON FeatureCollection with features")
    for number, feature in enumerate(features, 1):
        if not isinstance(feature, dict) or not isinstance(feature.get("properties"), dict):
            raise Invalid.field(f"#/features/{number - 1}", "not a GeoJSON feature with properties")
    return features


def _text(value: Any) -> str:
    return cell("" if value is None else value if isinstance(value, str) else json.dumps(value))


def _point(geometry: Any) -> str:
    """A point as WKT; empty for anything else, so that the row is refused for having no coordinates."""
    if not isinstance(geometry, dict) or geometry.get("type") != "Point":
        return ""
    position = geometry.get("coordinates")
    if not isinstance(position, list) or len(position) < 2:
        return ""
    numbers = position[:2]
    if not all(isinstance(n, int | float) and not isinstance(n, bool) and _finite(n) for n in numbers):
        return ""
    return f"POINT ({numbers[0]!r} {numbers[1]!r})"


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number beyond every float
        return False
