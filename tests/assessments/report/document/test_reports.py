"""The written report: what it says, that it is the same bytes for the same data, and that it stays as it was issued."""

import io
import uuid
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pypdf
import pypdfium2
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from weasyprint.urls import FatalURLFetchingError

from assessments import services as assess
from assessments.models import Inspection, TreeReport
from assessments.report.document import content, html, pdf, queries, services
from inventory.history import SERVICE, Author
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid, Missing
from tests.support import build, inspections, reports

TODAY = inspections.TODAY


@pytest.fixture
def tree(city: Any) -> Tree:
    return build.tree(tag="H-0042", dbh_cm=84.0, species=build.species())


@pytest.fixture
def inspection(tree: Tree) -> Inspection:
    return reports.inspected(tree)


def text_of(report: TreeReport) -> str:
    return reports.words_of(queries.paper(report))


def test_a_report_says_what_was_seen_measured_rated_and_recommended(inspection: Inspection) -> None:
    text = text_of(reports.issued(inspection))
    for words in (
        "Report on tree H-0042",
        "Purpose and limits",
        "the north side stands against a wall",
        "Cavity at the stem",
        "Probe goes in 45 cm.",
        "Section at 0.4 m",
        "Loss of section modulus",
        "80 % interval",
        "Critical gust",
        "footpath",
        "High",
        "seen on the spot",
        "Reduce the crown by a fifth.",
        "none says that the tree is safe",
        "For the owner of the tree",
        "Page 1 of",
    ):
        assert words in text, words


def test_it_names_every_method_with_its_version(inspection: Inspection) -> None:
    said = services.draft(inspection.uid)
    assert any("section" in name for name in content.methods_of(said))
    text = text_of(reports.issued(inspection))
    for name in content.methods_of(said):
        assert name in text


def test_the_same_data_give_the_same_bytes(inspection: Inspection) -> None:
    report = reports.issued(inspection)
    again = services.paper_of(report.content, units="si", paper="a4")
    assert again == queries.paper(report)
    assert services.digest(report.content) == report.content_sha256


def test_it_is_tagged_in_a_language_with_a_title_and_every_picture_has_words(
    tree: Tree, inspection: Inspection
) -> None:
    """ISO 14289-1 (PDF/UA-1) clauses 7.1, 7.2 and 7.3; ISO 32000-1 14.7 for the structure tree."""
    reports.photo(tree, inspection, caption="Opening, south side")
    read = pypdf.PdfReader(io.BytesIO(queries.paper(reports.issued(inspection))))
    catalog: Any = read.trailer["/Root"]
    title = str(read.metadata and read.metadata.title)
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"] == "en"
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert "Tilia cordata" in title
    found = _elements(catalog["/StructTreeRoot"])
    figures = [one for one in found if one.get("/S") == "/Figure"]
    assert len(figures) >= 3  # photo, section, stem
    assert all(str(one.get("/Alt", "")).strip() for one in figures)
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD"} <= {str(one.get("/S")) for one in found}


def _elements(node: Any) -> list[Any]:
    """Every structure element under a node."""
    found, waiting = [], [node]
    while waiting:
        one = waiting.pop().get_object()
        if isinstance(one, pypdf.generic.ArrayObject):
            waiting.extend(one)
        elif isinstance(one, pypdf.generic.DictionaryObject):
            found.append(one)
            if "/K" in one:
                waiting.append(one["/K"])
    return found


@pytest.mark.parametrize(("paper", "points"), [("a4", (595.3, 841.9)), ("letter", (612.0, 792.0))])
def test_it_comes_on_either_paper(inspection: Inspection, paper: str, points: tuple[float, float]) -> None:
    """ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1: letter is 8.5 x 11 in; 72 points an inch."""
    document = pypdfium2.PdfDocument(queries.paper(reports.issued(inspection, paper=paper)))
    assert all(page.get_size() == pytest.approx(points, abs=0.5) for page in document)
    document.close()


def test_it_speaks_in_the_readers_units(inspection: Inspection) -> None:
    text = text_of(reports.issued(inspection, units="us"))
    assert "Diameter at breast height 33 in" in text.replace("\u00a0", " ")  # 84 cm
    # NIST SP 811: a mile an hour is 0.447 04 m/s.
    assert "a gust of 33.0 m/s (74 mph)" in " ".join(text.split())
    metric = " ".join(text_of(reports.issued(inspection, units="si")).split())
    assert "84 cm" in metric
    assert "mph" not in metric


def test_no_page_is_empty(inspection: Inspection) -> None:
    document = pypdfium2.PdfDocument(queries.paper(reports.issued(inspection)))
    for page in document:
        assert len(page.get_textpage().get_text_range().split()) > 25  # more than header and footer
    document.close()


def test_a_later_edition_never_overwrites(inspection: Inspection) -> None:
    first = reports.issued(inspection)
    before = queries.paper(first)
    second = reports.issued(inspection, recommendation="Fell it.")
    assert (first.edition, second.edition) == (1, 2)
    assert first.number != second.number
    assert queries.paper(queries.report(first.uid)) == before
    assert "replaces edition 1" in text_of(second)
    assert "Fell it." not in reports.words_of(before)


def test_what_is_written_later_does_not_change_an_issued_report(tree: Tree, inspection: Inspection) -> None:
    report = reports.issued(inspection)
    before = queries.report(report.uid).content
    reports.photo(tree, inspection)
    with SERVICE.acting("renamed"):
        Tree.objects.filter(pk=tree.pk).update(tag="OTHER")
    assert queries.report(report.uid).content == before


def test_the_same_report_sent_again_is_the_same(inspection: Inspection) -> None:
    asked = reports.record()
    first, new = services.issue(SERVICE, inspection.uid, asked, TODAY)
    again, newer = services.issue(SERVICE, inspection.uid, asked, TODAY)
    assert (new, newer, first.pk) == (True, False, again.pk)
    assert Event.objects.filter(kind="report.issued").count() == 1
    with pytest.raises(Conflict):
        services.issue(SERVICE, inspection.uid, replace(asked, recommendation="Other."), TODAY)


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"recommendation": "  "}, "#/recommendation"),
        ({"valid_until": TODAY - timedelta(days=1)}, "#/valid_until"),
        ({"valid_until": TODAY + timedelta(days=6 * 366)}, "#/valid_until"),
        ({"paper": "a3"}, "#/paper"),
        ({"units": "stone"}, "#/units"),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_kept(
    inspection: Inspection, fields: dict[str, Any], pointer: str
) -> None:
    with pytest.raises(Invalid) as refused:
        services.issue(SERVICE, inspection.uid, reports.record(**fields), TODAY)
    assert [error.pointer for error in refused.value.errors] == [pointer]
    assert not TreeReport.objects.exists()


def test_an_unknown_inspection_is_missing(city: Any) -> None:
    with pytest.raises(Missing):
        services.issue(SERVICE, uuid.uuid4(), reports.record(), TODAY)


def test_a_paper_that_was_changed_is_not_handed_out(inspection: Inspection) -> None:
    report = reports.issued(inspection)
    name = f"reports/{report.pdf_sha256[:2]}/{report.pdf_sha256}"
    default_storage.delete(name)
    default_storage.save(name, ContentFile(b"%PDF-forged"))
    with pytest.raises(Missing, match="damaged"):
        queries.paper(report)


HOSTILE = "<script>alert(1)</script><img src='file:///etc/passwd'><img src='http://127.0.0.1:1/x'>{{ settings }}"


def test_text_of_people_stays_text(tree: Tree) -> None:
    inspection = inspections.inspected(tree, limits=HOSTILE, note=HOSTILE)
    report = reports.issued(inspection, recommendation=HOSTILE)
    document = html.render(report.content, units="si", paper="a4", time_zone="UTC", photo_url=lambda one: "x")
    assert "<script>" not in document
    assert "file:///etc/passwd'>" in document.replace("&#x27;", "'").replace("&gt;", ">")
    assert "alert(1)" in text_of(report)


@pytest.mark.parametrize(
    "address", ["file:///etc/hostname", "http://127.0.0.1:9/x", "https://example.org/x", "kept:../../x"]
)
def test_paper_fetches_nothing_that_is_not_its_own(address: str) -> None:
    def picture(name: str) -> bytes:
        raise ValueError("a report shows its own photos only")

    with pytest.raises(FatalURLFetchingError):
        pdf.write(f"<html lang='en'><title>x</title><img src='{address}' alt='x'></html>", picture)


def test_the_assessor_is_named_with_the_qualification(tree: Tree) -> None:
    ada = build.user("inspector", name="Ada Bough", qualification="Certified arborist HA-17")
    text = text_of(reports.issued(reports.inspected(tree, Author(ada.pk))))
    assert "Ada Bough" in text
    assert "Certified arborist HA-17" in text


def test_a_tree_with_nothing_found_has_a_report_too(tree: Tree) -> None:
    text = text_of(reports.issued(inspections.inspected(tree)))
    assert "No structural weakness was found." in text


def test_options_stand_side_by_side_with_what_each_leaves_and_none_is_preselected(inspection: Inspection) -> None:
    proposed = assess.propose_options(SERVICE, inspection, TODAY)
    report = reports.issued(inspection)
    text = text_of(report)
    for option in report.content["options"]:
        assert option["estimate"]["says"] in text
    assert len(report.content["options"]) == len(proposed) > 3
    assert "none is preselected" in text
    assert "Risk that remains" in text
    seconded = [one for one in report.content["comparison"]["options"] if one["dominated_by"]]
    assert text.count("Second to another alternative") == sum(len(one["reasons"]) for one in seconded)


def test_a_dropped_option_is_left_out(inspection: Inspection) -> None:
    first, *_ = assess.propose_options(SERVICE, inspection, TODAY)
    assess.edit_option(SERVICE, first, {"dropped_why": "the owner rules it out"}, version=first.version, today=TODAY)
    kept = [one["uid"] for one in services.draft(inspection.uid)["options"]]
    assert str(first.uid) not in kept
    assert kept


def test_reading_the_content_takes_as_many_queries_for_much_as_for_little(
    tree: Tree, inspection: Inspection, django_assert_max_num_queries: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as few:
        content.gather(inspection.uid)
    many = tuple(inspections.finding(note=f"Decay {n}") for n in range(12))
    large = inspections.inspected(tree, inspections.rated("low", findings=many))
    for n in range(5):
        reports.photo(tree, large, size=(60 + n, 40))
    with CaptureQueriesContext(connection) as more:
        content.gather(large.uid)
    assert len(more) <= len(few)


def test_a_photo_is_shown_whole_however_tall(tree: Tree, inspection: Inspection) -> None:
    reports.photo(tree, inspection, (300, 900))
    tall = [size for size in _drawn(queries.paper(reports.issued(inspection))) if size[1] == pytest.approx(3 * size[0])]
    # Nothing of it is cut off: it is no higher than its row of 42 mm.
    assert [height * 25.4 / 72 for _, height in tall] == [pytest.approx(42, abs=0.1)]


def _drawn(paper: bytes) -> list[tuple[float, float]]:
    """Width and height in points of each picture that is drawn."""
    found: list[tuple[float, float]] = []

    def seen(operator: bytes, _operands: Any, matrix: list[float], _text: Any) -> None:
        if operator == b"Do":
            found.append((abs(matrix[0]), abs(matrix[3])))

    for page in pypdf.PdfReader(io.BytesIO(paper)).pages:
        page.extract_text(visitor_operand_before=seen)
    return found


def test_a_diagnosis_is_set_against_its_cost_and_its_error(tree: Tree) -> None:
    cavity = inspections.finding("cavity", height_m=1.0, measures={"opening_percent": 25.0})
    ratings = (inspections.rating("high", finding=0),)
    record = inspections.record(findings=(cavity,), targets=(inspections.target(),), ratings=ratings, frame_years=3)
    inspection = inspections.inspected(tree, record)
    assess.propose_options(SERVICE, inspection, TODAY)
    text = " ".join(text_of(reports.issued(inspection)).split())
    assert "Its cost: 500 EUR; assumed to be right in 80 % of readings." in text
    assert "Only costs and harm are weighed" in text
