"""The picture of the decay band: well-formed, with text alternatives, true to the numbers, readable without colour."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from assessments.methods.decay_growth import Measured, Request, assess
from assessments.report.drawing import decay_band

SVG = "{http://www.w3.org/2000/svg}"
REQUEST = Request(60.0, "stem", (Measured(11.0),), walling="weak")


def drawn(request: Request) -> ET.Element:
    return ET.fromstring(decay_band.draw(assess(request)))  # noqa: S314 - our own text


def said(root: ET.Element) -> str:
    return " ".join(one.text or "" for one in root.iter(f"{SVG}text"))


def test_the_picture_has_a_title_and_a_description_in_words() -> None:
    root = drawn(REQUEST)
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == "Decay over the coming years"
    described = root.findtext(f"{SVG}desc") or ""
    first = assess(REQUEST).first_year
    assert f"reaches 20 % in year {first}" in described
    assert "80 % band" in described


def test_the_first_year_is_marked_where_it_lies() -> None:
    first = assess(REQUEST).first_year
    assert first is not None
    assert f"year {first}" in said(drawn(REQUEST))
    never = replace(REQUEST, measured=(Measured(25.0, 0.1),), walling="strong", horizon_years=2)
    assert "year 0" not in said(drawn(never))
    assert "stays below 20 %" in (drawn(never).findtext(f"{SVG}desc") or "")


@pytest.mark.parametrize("changed", [{}, {"most_loss_percent": 33.0}, {"horizon_years": 60}, {"horizon_years": 1}])
def test_everything_lies_inside_the_picture(changed: dict[str, float]) -> None:
    root = drawn(replace(REQUEST, **changed))  # type: ignore[arg-type]
    width, height = decay_band.SIZE
    for line in root.iter(f"{SVG}line"):
        xs, ys = ([float(line.get(name, 0)) for name in names] for names in (("x1", "x2"), ("y1", "y2")))
        assert 0 <= min(xs) <= max(xs) <= width
        assert 0 <= min(ys) <= max(ys) <= height


def test_without_a_band_the_picture_says_what_to_do_first() -> None:
    assert "Examine the root collar first" in said(drawn(replace(REQUEST, position="butt")))
    assert "Measure inside first" in said(drawn(replace(REQUEST, measured=())))


def test_two_pictures_on_a_page_share_no_id() -> None:
    first, second = (decay_band.draw(assess(REQUEST), name) for name in ("a", "b"))
    ids = [{one.get("id") for one in ET.fromstring(text).iter() if one.get("id")} for text in (first, second)]  # noqa: S314
    assert ids[0].isdisjoint(ids[1])
