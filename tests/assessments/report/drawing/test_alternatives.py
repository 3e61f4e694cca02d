"""The picture of options side by side: whole, in words, and true to what it is given."""

from typing import Any
from xml.etree import ElementTree

from assessments.report.drawing import alternatives


def option(label: str, harm: float = 1e-3, cost: float = 500.0) -> dict[str, Any]:
    years = [{"year": n, "low": harm / 30, "central": harm, "high": harm * 30} for n in range(20)]
    return {"label": label, "risk_years": years, "cost_years": [{"year": 0, "cost": cost, "present_so_far": cost}]}


def drawn(*options: dict[str, Any]) -> ElementTree.Element:
    return ElementTree.fromstring(alternatives.draw(options, "EUR"))  # noqa: S314 # our own text


def words(picture: ElementTree.Element) -> str:
    return " ".join("".join(part.itertext()) for part in picture.iter())


def test_each_option_has_its_row_and_its_words() -> None:
    said = words(drawn(option("Retain and monitor"), option("Remove and replant", harm=0.0, cost=2000.0)))
    assert "1. Retain and monitor" in said
    assert "2. Remove and" in said
    assert "none of this tree" in said
    assert "1 in 1,000 in the first year" in said
    assert "present value of all costs 2,000 EUR" in said


def test_more_harm_lies_higher_on_one_scale_for_all_rows() -> None:
    page = alternatives._Page([option("a", 1e-2), option("b", 1e-5)])
    assert page.foot(0) - page.harm(0, 1e-2) > page.foot(1) - page.harm(1, 1e-5) > 0
    assert page.harm(0, 1e-3) < page.harm(0, 1e-4)


def test_words_of_people_stay_words() -> None:
    picture = drawn(option("<script>x</script> & so on"))
    assert not list(picture.iter("{http://www.w3.org/2000/svg}script"))


def test_nothing_lies_outside_the_picture() -> None:
    picture = drawn(*(option(f"Option {n}", 10.0**-n, 10.0**n) for n in range(1, 8)))
    _, _, width, height = (float(part) for part in picture.attrib["viewBox"].split())
    for part in picture.iter("{http://www.w3.org/2000/svg}text"):
        assert 0 <= float(part.attrib["x"]) <= width
        assert 0 <= float(part.attrib["y"]) <= height
