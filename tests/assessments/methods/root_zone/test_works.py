"""Works as GeoJSON: unions, lines with a width, both planes, and wrong works named by their place."""

import math
import time
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.problems import MethodProblem
from assessments.methods.root_zone import compute
from tests.support.works import beyond

TREE = {"dbh_cm": 65, "standard": "bs5837"}
SQUARE = [[[5, -50], [50, -50], [50, 50], [5, 50], [5, -50]]]


def found(**fields: Any) -> dict[str, Any]:
    return compute(TREE | {"plane": "metric", "location": [0, 0]} | fields)


def polygon(*rings: Sequence[Sequence[float]]) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": [list(ring) for ring in rings]}


def features(*geometries: dict[str, Any]) -> dict[str, Any]:
    wrapped = [{"type": "Feature", "properties": {}, "geometry": one} for one in geometries]
    return {"type": "FeatureCollection", "features": wrapped}


def test_overlapping_works_count_once() -> None:
    alone = found(works=polygon(*SQUARE))
    inner = polygon([[5.5, -1], [9, -1], [9, 1], [5.5, 1], [5.5, -1]])
    assert found(works=features(polygon(*SQUARE), inner, polygon(*SQUARE))) == alone


def test_the_share_is_of_the_zone_after_its_cap() -> None:
    """BS 5837 caps the radius at 15 m: a stem of 200 cm is judged by the circle of a stem of 125 cm."""
    thick, capped = (compute({"dbh_cm": dbh, "standard": "bs5837"} | beyond(10.0)) for dbh in (200, 125))
    assert thick["encroached_percent"] == capped["encroached_percent"]


def test_a_trench_is_as_wide_as_it_is_said_to_be() -> None:
    line = {"type": "LineString", "coordinates": [[-100, 0], [100, 0]]}
    taken = found(works=line, works_width_m=0.6)["encroached_m2"]
    # A strip of half width h through the centre: 2 (h sqrt(R^2 - h^2) + R^2 asin(h / R)).
    r, h = 7.8, 0.3
    assert taken == pytest.approx(2 * (h * math.sqrt(r * r - h * h) + r * r * math.asin(h / r)), rel=1e-6)


def test_longitude_and_latitude_give_what_metres_give() -> None:
    lat, lon = 45.0, -29.5
    # Metres a degree on WGS 84 at latitude 45 (published series: 111 131.75 and 78 846.8 m, from memory).
    corners = [[lon + x / 78_846.8, lat + y / 111_131.75] for x, y in SQUARE[0]]
    by_lonlat = compute(TREE | {"location": {"type": "Point", "coordinates": [lon, lat]}, "works": polygon(corners)})
    assert by_lonlat["encroached_percent"] == pytest.approx(12.19, abs=0.01)


def test_works_out_of_reach_take_nothing() -> None:
    answer = compute(TREE | beyond(7.81))
    assert (answer["encroached_percent"], answer["class"]) == (0, "none")


@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(0.1, 30), st.floats(0.1, 30))
@settings(max_examples=40, deadline=None)
def test_the_share_lies_between_nothing_and_all_and_grows_with_the_works(
    x: float, y: float, width: float, height: float
) -> None:
    def share(more: float) -> float:
        ring = [[x, y], [x + width + more, y], [x + width + more, y + height], [x, y + height], [x, y]]
        return float(found(works=polygon(ring))["encroached_percent"])

    assert 0 <= share(0) <= share(1.0) + 1e-9 <= 100 + 1e-9


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"works": polygon(*SQUARE), "location": None}, "/location"),
    ({"works": polygon(*SQUARE), "location": [0]}, "/location"),
    ({"works": polygon(*SQUARE), "location": [math.nan, 0]}, "/location/0"),
    ({"works": polygon(*SQUARE), "location": {"type": "Line", "coordinates": [0, 0]}}, "/location/type"),
    ({"works": polygon([[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]])}, "/works/coordinates"),
    ({"works": polygon([[0, 0], [1, 0], [1, 1], [0, 1]])}, "/works/coordinates/0"),
    ({"works": polygon([[0, 0], [1e400, 0], [1, 1], [0, 0]])}, "/works/coordinates/0/1/0"),
    ({"works": {"type": "LineString", "coordinates": [[0, 0], [1, 0]]}}, "/works_width_m"),
    ({"works": {"type": "Point", "coordinates": [0, 0]}}, "/works/type"),
    ({"works": {"type": ["Polygon"], "coordinates": []}}, "/works/type"),
    ({"works": {"type": "FeatureCollection", "features": []}}, "/works/features"),
    ({"works": {"type": "FeatureCollection", "features": [3]}}, "/works/features/0"),
    ({"works": {"type": "Feature", "geometry": None}}, "/works/geometry"),
    ({"works": features({"type": "Polygon", "coordinates": 5})}, "/works/features/0/geometry/coordinates"),
    ({"works": [1]}, "/works"),
    ({"location": [0, 0]}, "/works"),
    ({"works": polygon(*SQUARE), "plane": "lonlat"}, "/works/coordinates/0"),
    ({"works": polygon([[200, 0], [1, 0], [1, 1], [200, 0]]), "plane": "lonlat"}, "/works/coordinates/0/0/0"),
]


@pytest.mark.parametrize(("fields", "pointer"), WRONG)
def test_wrong_works_name_their_place(fields: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        found(**fields)
    assert caught.value.fields[0].pointer == pointer


def test_a_hundred_thousand_positions_are_refused_within_a_second() -> None:
    ring = [[20 * math.cos(n * 6.3e-5), 20 * math.sin(n * 6.3e-5)] for n in range(100_000)]
    start = time.process_time()
    with pytest.raises(MethodProblem, match="10000 positions"):
        found(works=polygon([*ring, ring[0]]))
    assert time.process_time() - start < 1
