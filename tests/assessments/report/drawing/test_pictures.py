"""Pictures: well-formed SVG with text alternatives, scale and north, the right marks, and told apart in grey."""

import re
from xml.etree import ElementTree

import pytest

from assessments.methods.section import assess, read
from assessments.methods.section.along_stem import along
from assessments.report.drawing import profile, section, svg
from tests.assessments.methods.section.shapes import cracks, even_readings

SVG = "{http://www.w3.org/2000/svg}"
REQUEST = {
    "diameter_cm": 80,
    "height_m": 1.2,
    "readings": even_readings(14),
    "openings": [{"azimuth_deg": 350, "width_cm": 14}],
    "cracks": cracks(100, gap=3, inner=27),
    "draws": 20,
}


def drawn() -> ElementTree.Element:
    return ElementTree.fromstring(section.draw(assess(read(REQUEST)), "a"))  # noqa: S314 our own text


def words(picture: ElementTree.Element) -> str:
    return " ".join(text.text or "" for text in picture.iter(f"{SVG}text"))


def test_a_section_has_a_title_and_a_description_in_words() -> None:
    picture = drawn()
    assert picture.get("role") == "img"
    title, described = picture.find(f"{SVG}title"), picture.find(f"{SVG}desc")
    assert picture.get("aria-labelledby") == title.get("id") == "a-title"
    assert picture.get("aria-describedby") == described.get("id") == "a-desc"
    assert title.text == "Stem section at 1.2 m"
    assert "Thinnest wall 14.0 cm" in (described.text or "")


def test_a_section_shows_scale_north_readings_cracks_and_the_worst_direction() -> None:
    picture = drawn()
    assert re.search(r"\d+ cm", words(picture))
    assert " N " in f" {words(picture)} "
    assert "\N{DEGREE SIGN}" in words(picture)
    circles = list(picture.iter(f"{SVG}circle"))
    assert len(circles) == 8 + 1  # one a reading, one in the key
    dotted = [line for line in picture.iter(f"{SVG}line") if line.get("stroke-dasharray") == "2 3"]
    assert len(dotted) == 2  # both loose ends of the crack may run on


def test_pieces_are_numbered() -> None:
    answer = assess(read({"diameter_cm": 60, "cracks": cracks(0, 120, 240)}))
    picture = ElementTree.fromstring(section.draw(answer))  # noqa: S314 our own text
    assert {"1", "2", "3"} <= set(words(picture).split())


def test_a_profile_shows_every_level_and_describes_it() -> None:
    stem = along([read({**REQUEST, "draws": 0}), read({"diameter_cm": 60, "height_m": 3, "draws": 0})], [2.0])
    picture = ElementTree.fromstring(profile.draw(stem))  # noqa: S314 our own text
    for height in ("1.2 m", "2.0 m", "3.0 m"):
        assert height in words(picture)
        assert height in (picture.find(f"{SVG}desc").text or "")


def test_the_ids_of_two_pictures_on_one_page_are_different() -> None:
    answer = assess(read({"diameter_cm": 60}))
    first, second = (set(re.findall(r' id="([^"]+)"', section.draw(answer, name))) for name in ("a", "b"))
    assert first
    assert not first & second


@pytest.mark.parametrize(("a", "b"), [(svg.INK, svg.WOOD), (svg.WOOD, svg.VOID), (svg.INK, svg.VOID)])
def test_what_lies_beside_each_other_differs_in_grey(a: str, b: str) -> None:
    def grey(colour: str) -> float:
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    assert abs(grey(a) - grey(b)) > 45


def test_words_and_attributes_are_escaped() -> None:
    assert "<script" not in svg.text("<script>", 0, 0)
    assert '"x' not in svg.tag("g", id='"x').replace("='\"x", "")


def test_a_scale_bar_has_a_round_length() -> None:
    assert ">50 cm<" in svg.scale_bar(0, 0, 2.0, 150, "cm")
