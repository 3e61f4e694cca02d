"""Builders for written reports: a lime with a cavity, measured and rated; a photo; a report on it."""

import io
from datetime import date, timedelta
from typing import Any

import pypdfium2
from PIL import Image

from assessments.models import Inspection, TreeReport
from assessments.report.document import services
from assessments.report.document.services import ReportRecord
from inventory.attachments import services as photos
from inventory.attachments.services import Photo
from inventory.history import SERVICE, Author
from inventory.models import Tree
from tests.support import inspections, sections, stem_loads

TODAY = inspections.TODAY


def inspected(tree: Tree, author: Author = SERVICE, **fields: Any) -> Inspection:
    """An inspection with a cavity that a section and a stem load look into, one target, one rating."""
    cavity = inspections.finding(
        "cavity", height_m=0.4, azimuth_deg=170.0, measures={"depth_cm": 45.0}, note="Probe goes in 45 cm."
    )
    record = inspections.rated(
        "high",
        findings=(cavity,),
        sections=(sections.section(finding=0),),
        stem_load=stem_loads.stem_load(),
        limits="Leaves on the tree; the north side stands against a wall.",
        **fields,
    )
    return inspections.inspected(tree, record, author)


def picture(size: tuple[int, int] = (64, 48)) -> bytes:
    """A green JPEG."""
    out = io.BytesIO()
    Image.new("RGB", size, (90, 140, 60)).save(out, "JPEG")
    return out.getvalue()


def photo(tree: Tree, inspection: Inspection | None = None, size: tuple[int, int] = (640, 480), **fields: Any) -> None:
    """A photo of the first finding of an inspection, else of the tree."""
    finding = inspection.findings.first() if inspection else None
    about: dict[str, Any] = {"about": "finding", "about_uid": finding.uid} if finding else {}
    photos.add(SERVICE, tree, Photo(picture(size), **(about | fields)))


def record(**fields: Any) -> ReportRecord:
    """What an arborist asks for."""
    fields.setdefault("valid_until", TODAY + timedelta(days=365))
    fields.setdefault("recommendation", "Reduce the crown by a fifth.\n\nLook at the cavity again within the year.")
    return ReportRecord(**fields)


def issued(inspection: Inspection, author: Author = SERVICE, today: date = TODAY, **fields: Any) -> TreeReport:
    """A report issued on an inspection."""
    return services.issue(author, inspection.uid, record(**fields), today)[0]


def words_of(pdf: bytes) -> str:
    """The text of a PDF, page after page, with its blanks closed up."""
    document = pypdfium2.PdfDocument(pdf)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(text.split())
