"""Pictures of dissections and calibration: well-formed, with text alternatives, true to the numbers, told in grey."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from assessments.methods.calibration import Row, fit
from assessments.methods.dissection import read, rebuild
from assessments.methods.findings import Finding, TreeFacts
from assessments.methods.section import Reading, Section, circle
from assessments.methods.truth import Comparison, Predicted, compare
from assessments.report.drawing import calibration, crack_depth, svg, truth_section
from tests.assessments.methods.calibration.test_fit import biased
from tests.assessments.methods.dissection.stems import lime

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def compared() -> Comparison:
    section = Section(circle(57.0), tuple(Reading(float(a), 11.0) for a in range(0, 360, 60)), height_m=0.5, draws=40)
    seams = tuple(
        Finding("seam", "stem", None, 0.7, azimuth, {"type": "closed", "length_cm": 60}) for azimuth in (0, 200)
    )
    return compare(rebuild(read(lime())), Predicted((section,), ("drilling",), seams))


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own text


def said(root: ET.Element) -> str:
    return " ".join(one.text or "" for one in root.iter(f"{SVG}text"))


def described(root: ET.Element) -> str:
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title")
    return root.findtext(f"{SVG}desc") or ""


def test_predicted_stands_beside_found_with_both_figures_in_words(compared: Comparison) -> None:
    one = compared.heights[1]
    root = parsed(truth_section.draw(one))
    for heading in ("Predicted", "Found", "measured here", "on the cut face"):
        assert heading in said(root)
    assert f"t/R {one.found:.2f}" in said(root)
    assert f"Found: t/R {one.found:.2f}" in described(root)
    assert "80 % interval" in described(root)


def test_the_predicted_hollow_is_drawn_over_the_found_one(compared: Comparison) -> None:
    root = parsed(truth_section.draw(compared.heights[1]))
    dashed = [one for one in root.iter(f"{SVG}path") if one.get("stroke-dasharray") == "6 4"]
    assert len(dashed) == 1


def test_both_stems_of_a_height_have_one_scale(compared: Comparison) -> None:
    """The outline found is as wide on the page as its diameter says against the scale bar."""
    one = compared.heights[1]
    root = parsed(truth_section.draw(one))
    outline = max(
        (p.get("d") or "" for p in root.iter(f"{SVG}path") if p.get("stroke-width") == "2"),
        key=lambda d: float(d[1:].split(" ")[0].split("L")[0]),
    )
    xs = [float(pair.split(" ")[0]) for pair in outline[1:-1].split("L")]
    bar = next(one for one in root.iter(f"{SVG}line") if one.get("stroke-width") == "2.5")
    length_cm = float(next(t for t in said(root).split("  ") if "cm" in t).split(" cm")[0].split(" ")[-1])
    per_cm = (float(bar.get("x2") or 0) - float(bar.get("x1") or 0)) / length_cm
    assert (max(xs) - min(xs)) / per_cm == pytest.approx(2 * one.face.cut.section.outline.radius_cm, rel=0.01)


def test_signs_alone_show_a_dashed_ring_or_a_question() -> None:
    tree = TreeFacts(dbh_cm=57)
    cavity = Finding("cavity", "stem", 57.0, 0.5, 10, {"shell_cm": 12.0, "depth_cm": 10})
    body = Finding("fruiting_body", "stem", None, 0.5)
    stem = rebuild(read(lime()))
    ring, question = (
        parsed(truth_section.draw(compare(stem, Predicted(findings=(sign,), tree=tree)).heights[1]))
        for sign in (cavity, body)
    )
    assert any(one.get("stroke-dasharray") for one in ring.iter(f"{SVG}circle"))
    assert "?" in said(question)
    assert "a hollow without a figure" in described(question)


def test_a_crack_is_drawn_with_a_mark_on_each_cut_that_showed_it(compared: Comparison) -> None:
    root = parsed(crack_depth.draw(compared))
    assert len(list(root.iter(f"{SVG}circle"))) == 6 + 1  # one a sighting, one in the key
    assert "had a sign" in said(root)
    words = described(root)
    assert "9.0 cm deep at 0.35 m: had a sign" in words
    assert "a sign without a crack" in words


def test_without_cracks_the_picture_says_so() -> None:
    stem = rebuild(read({"cuts": [{"height_m": 1, "diameter_cm": 40}]}))
    root = parsed(crack_depth.draw(compare(stem, Predicted())))
    assert "No crack was found." in said(root)
    assert described(root) == "No crack was found and no sign told of one."


def test_the_calibration_shows_fit_band_and_range_and_says_the_slope() -> None:
    rows = biased(20, 0.4)
    made = fit(rows)
    root = parsed(calibration.draw(made, rows))
    words = described(root)
    assert "120 cuts of 20 dissected trees" in words
    assert f"the slope is {made.effects[1].mean:.2f}" in words
    assert f"Estimates from {made.lowest:.2f} to {made.highest:.2f}" in words
    assert "120 cuts, 20 trees" in said(root)


def test_below_five_trees_there_is_no_line_and_the_picture_says_so() -> None:
    rows = biased(2, 0.4)
    root = parsed(calibration.draw(fit(rows), rows))
    assert "too few" in said(root)
    assert "Too few" in described(root)
    assert not [one for one in root.iter(f"{SVG}path") if one.get("stroke-width") == "3"]


def test_every_reason_has_a_mark_of_its_own_shape() -> None:
    reasons = ("predicted_weakness", "utility", "pest", "random_sample", "storm_failure")
    shapes = set()
    for reason in reasons:
        root = parsed(calibration.draw(fit([]), [Row("a", 0.5, 0.5, reason)]))
        marks = [one for one in root if one.tag != f"{SVG}text"]
        drawn = "".join(ET.tostring(one, encoding="unicode") for one in marks)
        shapes.add(drawn)
    assert len(shapes) == len(reasons)


def test_thousands_of_cuts_are_thinned() -> None:
    rows = biased(300, 0.2)
    root = parsed(calibration.draw(fit(rows), rows))
    assert len(list(root.iter(f"{SVG}path"))) < calibration.MOST_MARKS + 20


@pytest.mark.parametrize("place", range(8))
def test_everything_lies_inside_the_pictures(compared: Comparison, place: int) -> None:
    for text, (width, height) in (
        (truth_section.draw(compared.heights[place]), truth_section.SIZE),
        (crack_depth.draw(compared), crack_depth.SIZE),
    ):
        for line in parsed(text).iter(f"{SVG}line"):
            xs, ys = ([float(line.get(name, 0)) for name in names] for names in (("x1", "x2"), ("y1", "y2")))
            assert 0 <= min(xs) <= max(xs) <= width
            assert 0 <= min(ys) <= max(ys) <= height


def test_two_pictures_on_a_page_share_no_id(compared: Comparison) -> None:
    ids = [
        {one.get("id") for one in parsed(truth_section.draw(compared.heights[0], name)).iter() if one.get("id")}
        for name in ("a", "b")
    ]
    assert ids[0].isdisjoint(ids[1])


def test_cracks_one_behind_another_differ_in_grey_from_each_other_and_from_ink() -> None:
    cracks = [{"azimuth_deg": azimuth, "run_cm": 12 - azimuth / 30} for azimuth in (0, 90, 180)]
    cuts = [{"height_m": height, "diameter_cm": 60, "cracks": cracks} for height in (0.5, 1.0)]
    root = parsed(crack_depth.draw(compare(rebuild(read({"cuts": cuts})), Predicted())))

    def grey(colour: str) -> float:
        return sum(w * int(colour[i : i + 2], 16) for w, i in ((0.2126, 1), (0.7152, 3), (0.0722, 5)))

    bands = sorted(grey(one.get("fill") or "") for one in root.iter(f"{SVG}path") if one.get("fill-opacity"))
    assert len(bands) == 3
    assert bands[0] - grey(svg.INK) > 120
    assert all(high - low > 15 for low, high in pairwise(bands))
