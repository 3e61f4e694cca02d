"""Plan drawings: to scale, north up, readable by those who cannot see them, and safe with any text."""

import itertools
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pages import svg
from api.pages.svg import Outline, Plan, Spot

SVG = "{http://www.w3.org/2000/svg}"


def drawn(*spots: Spot, **fields: Any) -> ElementTree.Element:
    return ElementTree.fromstring(svg.draw(Plan("Plan of a test", spots, **fields)))  # noqa: S314


def circles(root: ElementTree.Element, kind: str) -> list[tuple[float, float, float]]:
    found = [c for c in root.iter(f"{SVG}circle") if c.get("class") == kind]
    return [(float(c.attrib["cx"]), float(c.attrib["cy"]), float(c.attrib["r"])) for c in found]


def test_the_drawing_says_what_it_is() -> None:
    root = drawn(Spot(0, 0, "A"))
    assert (root.get("role"), root.get("aria-label")) == ("img", "Plan of a test")


def test_north_is_up_and_east_is_right() -> None:
    root = drawn(Spot(0, 0, "A"), Spot(10, 0, "east"), Spot(0, 10, "north"))
    here, east, north = circles(root, "stem")
    assert east[0] > here[0]
    assert east[1] == pytest.approx(here[1], abs=0.11)
    assert north[1] < here[1]
    assert north[0] == pytest.approx(here[0], abs=0.11)


@given(st.lists(st.tuples(st.floats(-200, 200), st.floats(-200, 200), st.floats(0.5, 30)), max_size=8))
def test_places_and_widths_are_drawn_at_one_scale(places: list[tuple[float, float, float]]) -> None:
    ends = (Spot(0, 0, "", crown_m=1.0), Spot(100, 0, "", crown_m=1.0))
    root = drawn(*ends, *(Spot(x, y, "", crown_m=wide) for x, y, wide in places))
    (west, base, _), (east, _, _), *others = circles(root, "crown")
    scale = (east - west) / 100
    _, _, width, height = (float(part) for part in (root.get("viewBox") or "").split())
    for (x, y, wide), (cx, cy, r) in zip(places, others, strict=True):
        # Numbers are written to a tenth: half of that for each of the three, and as much in the scale.
        assert cx == pytest.approx(west + scale * x, abs=0.11 + 0.001 * abs(x))
        assert cy == pytest.approx(base - scale * y, abs=0.11 + 0.001 * abs(y))
        assert r == pytest.approx(scale * wide / 2, abs=0.11)
        assert r - 0.2 <= cx <= width - r + 0.2
        assert r - 0.2 <= cy <= height - r + 0.2


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    root = drawn(Spot(0, 0, "A", crown_m=10.0), Spot(60, 0, "B"))
    scale = circles(root, "crown")[0][2] / 5
    (path,) = (p for p in root.iter(f"{SVG}path") if p.get("class") == "scale")
    ((start, end),) = re.findall(r"^M([\d.]+) [\d.]+v6H([\d.]+)v-6$", path.get("d", ""))
    (said,) = (t.text or "" for t in root.iter(f"{SVG}text") if re.fullmatch(r"[\d.]+ m", t.text or ""))
    assert float(end) - float(start) == pytest.approx(float(said.split()[0]) * scale, rel=0.02)


def test_feet_are_a_third_of_a_metre() -> None:
    texts = [t.text or "" for t in drawn(Spot(0, 0, "A"), Spot(60, 0, "B"), units="us").iter(f"{SVG}text")]
    assert any(re.fullmatch(r"[\d.]+ ft", text) for text in texts)


def test_works_are_outlines_with_holes_or_lines() -> None:
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    hole = [(4.0, 4.0), (6.0, 4.0), (6.0, 6.0)]
    shapes = (Outline([square, hole], closed=True), Outline([[(0.0, 0.0), (5.0, 5.0)]], closed=False))
    paths = [p for p in drawn(works=shapes).iter(f"{SVG}path") if "works" in (p.get("class") or "")]
    assert (paths[0].get("d") or "").count("Z") == 2
    assert "Z" not in (paths[1].get("d") or "")


def test_labels_cannot_break_out_of_the_drawing() -> None:
    nasty = '"><script>alert(1)</script>'
    text = svg.draw(Plan(nasty, [Spot(0, 0, nasty)]))
    assert "<script" not in text
    ElementTree.fromstring(text)  # noqa: S314 - our own text


def test_names_do_not_lie_on_each_other() -> None:
    spots = [Spot(n * 0.2, 0, f"H10{n}") for n in range(10)]
    labels = [t for t in drawn(*spots, Spot(50, 0, "far")).iter(f"{SVG}text") if (t.text or "").startswith("H10")]
    places = sorted((float(t.get("x", "0")), float(t.get("y", "0"))) for t in labels)
    for one, other in itertools.pairwise(places):
        assert other[0] - one[0] >= 7 * 4 or abs(other[1] - one[1]) >= 13
