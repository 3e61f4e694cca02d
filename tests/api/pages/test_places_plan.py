"""Plans of places: to scale, north up, strays on the edge, a true scale bar; nothing is fetched from elsewhere."""

import math
import re
from collections.abc import Sequence
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api.pages import places_plan

SVG = "{http://www.w3.org/2000/svg}"
Pair = tuple[float, float]
# A minute of latitude is a nautical mile of 1,852 m.
DEGREE_M = 60 * 1852.0


def drawn(points: Sequence[Pair], strays: Sequence[Pair] = (), units: str = "si") -> ElementTree.Element:
    return ElementTree.fromstring(places_plan.draw("Plan of a test", {"seen": points}, strays, units))  # noqa: S314


def dots(root: ElementTree.Element) -> list[Pair]:
    path = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "dots seen")
    return [(float(x), float(y)) for x, y in re.findall(r"M(-?[\d.]+) (-?[\d.]+)h0", path.attrib["d"])]


def size(root: ElementTree.Element) -> Pair:
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    return width, height


@given(some.lists(some.tuples(some.floats(-180, 180), some.floats(-85, 85)), min_size=1, max_size=30))
def test_every_place_is_on_the_plan(points: list[Pair]) -> None:
    root = drawn(points)
    width, height = size(root)
    assert 0.35 <= height / width <= 1.01
    assert len(dots(root)) == len(points)
    # Places all round the earth may lie on both sides of its back; those of a city may not.
    if max(lon for lon, _ in points) - min(lon for lon, _ in points) < 90:
        assert all(0 <= x <= width and 0 <= y <= height for x, y in dots(root))


def test_north_is_up_east_is_right_and_both_are_to_one_scale() -> None:
    here, east, north = dots(drawn([(-29.5, 45.0), (-29.49, 45.0), (-29.5, 45.01)]))
    assert east[1] == here[1]
    assert north[0] == here[0]
    assert east[0] > here[0]
    assert north[1] < here[1]
    # At 45 degrees a degree of longitude is cos 45 of one of latitude.
    assert (east[0] - here[0]) / (here[1] - north[1]) == pytest.approx(math.cos(math.radians(45)), rel=0.005)


@pytest.mark.parametrize(
    ("units", "metres"), [("si", {"m": 1.0, "km": 1000.0}), ("us", {"ft": 0.3048, "mi": 1609.344})]
)
@pytest.mark.parametrize("apart", [0.0005, 0.01, 0.2])
def test_the_scale_bar_is_as_long_as_it_says(units: str, metres: dict[str, float], apart: float) -> None:
    root = drawn([(-29.5, 45.0), (-29.5, 45.0 + apart)], units=units)
    (_, south), (_, north) = dots(root)
    bar = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "scale").attrib["d"]
    found = re.fullmatch(r"M([\d.]+) [\d.]+v7H([\d.]+)v-7", bar)
    said = next(text.text or "" for text in root.iter(f"{SVG}text") if text.text != "N").split("\u00a0")
    assert found is not None
    length_m = (float(found[2]) - float(found[1])) * apart * DEGREE_M / (south - north)
    assert float(said[0].replace(",", "")) * metres[said[1]] == pytest.approx(length_m, rel=0.01)


def test_a_stray_beyond_the_plan_is_marked_on_its_edge() -> None:
    root = drawn([(-29.5, 45.0), (-29.49, 45.01)], [(10.0, 45.005), (-29.495, -80.0)])
    width, height = size(root)
    marks = [path.attrib["d"] for path in root.iter(f"{SVG}path") if path.get("class") == "stray"]
    (right, _), (_, bottom) = (tuple(map(float, re.findall(r"M([\d.]+) ([\d.]+)m", mark)[0])) for mark in marks)
    assert width - 20 < right < width
    assert height - 20 < bottom < height


def test_a_city_across_the_back_of_the_earth_is_not_torn_apart() -> None:
    (west, _), (east, _) = dots(drawn([(179.99, -17.0), (-179.99, -17.0)]))
    assert 0 < west < east < 640


def test_nothing_is_fetched_from_elsewhere() -> None:
    markup = places_plan.draw("A <b>title</b>", {"seen": [(-29.5, 45.0)]})
    assert set(re.findall(r"https?://[^\"]+", markup)) == {"http://www.w3.org/2000/svg"}
    assert "<image" not in markup
    assert "<b>" not in markup
    assert "style=" not in markup
