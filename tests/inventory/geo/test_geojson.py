"""The strict GeoJSON reader: what RFC 7946 allows passes, everything near it is refused with its place."""

import contextlib
import json
import math
from typing import Any

import pytest
from django.contrib.gis.gdal import OGRGeometry
from django.contrib.gis.geos import GEOSGeometry, Polygon
from hypothesis import given
from hypothesis import strategies as st

from inventory.geo.geojson import DEPTHS, read_geometry, write_geometry
from inventory.problems import Invalid

ALL = tuple(DEPTHS)
SQUARE = [[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0], [0.0, 0.0]]


def polygon(*rings: Any) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": list(rings)}


def point(*ordinates: Any) -> dict[str, Any]:
    return {"type": "Point", "coordinates": list(ordinates)}


def by_gdal(value: dict[str, Any]) -> GEOSGeometry:
    """GDAL as the second reader."""
    return OGRGeometry(json.dumps(value)).geos


def refusal(value: Any, kinds: tuple[str, ...] = ALL, most: int = 10_000) -> tuple[str, str]:
    with pytest.raises(Invalid) as caught:
        read_geometry(value, kinds, most, "#/where")
    (error,) = caught.value.errors
    return error.pointer, error.detail


@pytest.mark.parametrize(
    "text",
    # RFC 7946, appendix A: the examples of the standard, with (A.3, holes) and without.
    [
        '{"type": "Point", "coordinates": [100.0, 0.0]}',
        '{"type": "LineString", "coordinates": [[100.0, 0.0], [101.0, 1.0]]}',
        '{"type": "Polygon", "coordinates": [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]]}',
        '{"type": "Polygon", "coordinates": [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],'
        " [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]]]}",
        '{"type": "MultiPoint", "coordinates": [[100.0, 0.0], [101.0, 1.0]]}',
        '{"type": "MultiLineString", "coordinates": [[[100.0, 0.0], [101.0, 1.0]], [[102.0, 2.0], [103.0, 3.0]]]}',
        '{"type": "MultiPolygon", "coordinates":'
        " [[[[102.0, 2.0], [103.0, 2.0], [103.0, 3.0], [102.0, 3.0], [102.0, 2.0]]],"
        " [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],"
        " [[100.2, 0.2], [100.2, 0.8], [100.8, 0.8], [100.8, 0.2], [100.2, 0.2]]]]}",
    ],
)
def test_the_examples_of_the_standard_are_read_and_written_back(text: str) -> None:
    value = json.loads(text)
    written = write_geometry(read_geometry(value, ALL))
    assert written["type"] == value["type"]
    assert by_gdal(written).equals(by_gdal(value))


def test_a_height_is_allowed_and_not_kept() -> None:
    assert read_geometry(point(1, 2, 300), ALL).wkt == "POINT (1 2)"


def test_foreign_members_are_ignored() -> None:
    assert read_geometry(point(1, 2) | {"bbox": [0], "note": "x"}, ALL).wkt == "POINT (1 2)"


@pytest.mark.parametrize(
    "bad", [math.nan, math.inf, -math.inf, 10**400, "1", None, True, [1], {}], ids=lambda bad: repr(bad)[:8]
)
def test_an_ordinate_must_be_a_finite_number(bad: Any) -> None:
    assert refusal(point(bad, 1)) == ("#/where/coordinates", "must hold finite numbers only")
    assert refusal(point(1, 1, bad)) == ("#/where/coordinates", "must hold finite numbers only")


@pytest.mark.parametrize("ordinates", [(), (1,), (1, 2, 3, 4)])
def test_a_position_has_two_or_three_ordinates(ordinates: tuple[int, ...]) -> None:
    assert refusal(point(*ordinates)) == ("#/where/coordinates", "must be [longitude, latitude]")


@pytest.mark.parametrize(("lon", "lat"), [(180.0001, 0), (-181, 0), (0, 90.1), (0, -91), (4_500_000, 5_000_000)])
def test_a_position_lies_on_the_earth(lon: float, lat: float) -> None:
    assert "outside" in refusal(point(lon, lat))[1]


def test_the_place_of_a_bad_position_is_named() -> None:
    line = {"type": "LineString", "coordinates": [[0, 0], [1, math.nan]]}
    assert refusal(line)[0] == "#/where/coordinates/1"


def test_rings_are_closed_long_enough_and_do_not_cross_themselves() -> None:
    bow_tie = [[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]
    assert refusal(polygon(SQUARE[:-1])) == ("#/where/coordinates/0", "a ring must end where it begins")
    assert refusal(polygon([[0, 0], [1, 1], [0, 0]])) == (
        "#/where/coordinates/0",
        "a ring needs four positions at least",
    )
    assert "Self-intersection" in refusal(polygon(bow_tie))[1]
    assert refusal(polygon(SQUARE, [[2, 2], [2, 3], [3, 3], [2, 2]]))[0] == "#/where"  # a hole outside


def test_a_line_needs_two_different_positions() -> None:
    assert "two different" in refusal({"type": "LineString", "coordinates": [[1, 1], [1, 1]]})[1]


@pytest.mark.parametrize("value", [None, [], "POINT (1 2)", 5, True])
def test_what_is_no_object_is_refused(value: Any) -> None:
    assert refusal(value) == ("#/where", "must be a GeoJSON geometry")


@pytest.mark.parametrize(
    "value",
    [
        {},
        {"type": "Point"},
        {"type": ["Point"]},
        {"type": "GeometryCollection", "geometries": []},
        {"type": "point"},
        {"type": "Polygon", "coordinates": []},
        {"type": "Polygon", "coordinates": [[]]},
        {"type": "MultiPolygon", "coordinates": [[SQUARE, 5]]},
        {"type": "Point", "coordinates": {"0": 1, "1": 2}},
        {"type": "Point", "coordinates": "12"},
    ],
)
def test_what_is_no_geometry_is_refused(value: Any) -> None:
    assert refusal(value)[0].startswith("#/where")


def test_only_the_kinds_asked_for_pass() -> None:
    assert refusal(point(1, 2), ("Polygon", "MultiPolygon")) == ("#/where/type", "must be Polygon or MultiPolygon")


def test_a_crs_member_is_refused() -> None:
    crs = {"type": "name", "properties": {"name": "/etc/passwd"}}
    assert refusal(point(1, 2) | {"crs": crs})[0] == "#/where/crs"


def test_the_number_of_positions_is_limited() -> None:
    assert refusal(polygon(SQUARE), most=4) == ("#/where", "has more than 4 positions")
    assert read_geometry(polygon(SQUARE), ALL, 5).num_coords == 5


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=4),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=30,
)


@given(kind=st.sampled_from([*ALL, "Nothing"]), coordinates=json_values)
def test_any_json_is_either_a_finite_valid_geometry_or_refused(kind: str, coordinates: Any) -> None:
    with contextlib.suppress(Invalid):
        geometry = read_geometry({"type": kind, "coordinates": coordinates}, ALL)
        assert geometry.valid
        assert all(map(math.isfinite, geometry.extent))


@given(
    lon=st.floats(-180, 180),
    lat=st.floats(-90, 90),
    east=st.floats(1e-4, 1),
    north=st.floats(1e-4, 1),
    backwards=st.booleans(),
)
def test_rings_are_written_right_handed_however_they_came(
    lon: float, lat: float, east: float, north: float, backwards: bool
) -> None:
    west, south = max(-180.0, lon - 1), max(-90.0, lat - 1)
    ring = [[west, south], [west + east, south], [west + east, south + north], [west, south + north], [west, south]]
    written = write_geometry(read_geometry(polygon(ring[::-1] if backwards else ring), ALL))
    outer = by_gdal(written)
    assert isinstance(outer, Polygon)
    assert outer.exterior_ring.is_counterclockwise
    assert written["coordinates"][0][0] == written["coordinates"][0][-1]
