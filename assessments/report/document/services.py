"""Issues reports: the content frozen, the paper made of it kept by its digest; a later edition never overwrites."""

import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from django.db import IntegrityError, transaction

from assessments.models import Inspection, TreeReport, TreeReportCounter
from assessments.models.tree_report import PAPERS
from assessments.records import fingerprint
from assessments.report.document import content, html
from inventory import events, kept
from inventory import queries as inventory
from inventory.attachments import images
from inventory.attachments.services import FOLDER as PHOTOS
from inventory.history import Author
from inventory.people.models import UNITS, User
from inventory.problems import Conflict, FieldProblem, Invalid

FOLDER: Final = "reports"
PHOTO_PX: Final = 1_000
"""Of a photo on paper: a third of a page's width at more than 300 dots an inch."""
LONGEST_VALID_DAYS: Final = 5 * 366
"""A report describes the tree on one day; the longest interval between looks bounds it. Project's choice."""


@dataclass(frozen=True)
class ReportRecord:
    """What an arborist asks for: the recommendation in free text, assumptions one a line, until when it is valid."""

    valid_until: date
    recommendation: str
    assumptions: tuple[str, ...] = ()
    paper: str = "a4"
    units: str = "si"
    uid: uuid.UUID = field(default_factory=uuid.uuid4)


def draft(inspection_uid: uuid.UUID, record: ReportRecord | None = None) -> dict[str, Any]:
    """The content as it would be issued now; stores nothing. Raises Missing."""
    said = content.gather(inspection_uid)
    said["issued"] = None
    said["recommendation"] = record.recommendation if record else ""
    said["assumptions"] = list(record.assumptions) if record else []
    return said


def issue(author: Author, inspection_uid: uuid.UUID, record: ReportRecord, today: date) -> tuple[TreeReport, bool]:
    """Issue a report once; return it and whether it is new. The same uid and record again gives the same one.

    Raises Missing, Invalid naming the field, Conflict where its uid came with another record, or where the inspection
    was issued at the same moment.
    """
    _require(record, today)
    asked = fingerprint(inspection_uid, record)
    before = TreeReport.objects.filter(uid=record.uid).first()
    if before:
        return _same(before, asked), False
    said = draft(inspection_uid, record)
    inspection = Inspection.objects.select_related("tree").get(uid=inspection_uid)
    edition = TreeReport.objects.filter(inspection=inspection).count() + 1
    said["issued"] = _issued(author, record, edition, today)
    # Making paper takes its time: no lock is held meanwhile, and whoever comes second finds the first one's row.
    paper = paper_of(said, units=record.units, paper=record.paper)
    try:
        with author.acting("report issued"):
            made = _row(author, inspection, record, said, paper)
            events.record(author, "report.issued", "tree_report", made.uid, tree_id=inspection.tree_id)
    except IntegrityError:
        return _first_come(record.uid, asked), False
    return made, True


def _first_come(uid: uuid.UUID, asked: str) -> TreeReport:
    before = TreeReport.objects.filter(uid=uid).first()
    if before is None:
        raise Conflict("another edition of this report was issued at the same moment: look at it, then ask again")
    return _same(before, asked)


def _row(
    author: Author, inspection: Inspection, record: ReportRecord, said: dict[str, Any], paper: bytes
) -> TreeReport:
    return TreeReport.objects.create(
        uid=record.uid,
        tree=inspection.tree,
        inspection=inspection,
        number=said["issued"]["number"],
        edition=said["issued"]["edition"],
        paper=record.paper,
        units=record.units,
        asked_sha256=fingerprint(inspection.uid, record),
        content=said,
        content_sha256=digest(said),
        pdf_sha256=kept.keep_bytes(FOLDER, paper),
        pdf_bytes=len(paper),
        issued_by_id=author.user_id,
        issued_on=date.fromisoformat(said["issued"]["on"]),
        valid_until=record.valid_until,
    )


def _issued(author: Author, record: ReportRecord, edition: int, today: date) -> dict[str, Any]:
    who = User.objects.filter(pk=author.user_id).first() if author.user_id else None
    return {
        "number": _next_number(today),
        "edition": edition,
        "replaces": edition - 1 or None,
        "on": today.isoformat(),
        "valid_until": record.valid_until.isoformat(),
        "by": {"name": who.name if who else "", "qualification": who.qualification if who else ""},
    }


def _next_number(today: date) -> str:
    """The next number of the year, as R2026-0001; one whose report was not made in the end stays unused."""
    with transaction.atomic():
        TreeReportCounter.objects.bulk_create([TreeReportCounter(year=today.year, last=0)], ignore_conflicts=True)
        counter = TreeReportCounter.objects.select_for_update().get(year=today.year)
        counter.last += 1
        counter.save(update_fields=["last"])
    return f"R{today.year}-{counter.last:04d}"


def paper_of(said: Mapping[str, Any], *, units: str, paper: str) -> bytes:
    """The content as PDF: the same bytes for the same content, units and paper. Raises Missing for a lost photo."""
    # Takes half a second to import, which every command would pay: only who makes paper does.
    from assessments.report.document import pdf

    shown = {one["kept"] for one in said["photos"]}

    def picture(name: str) -> bytes:
        if name not in shown:
            raise ValueError("a report shows its own photos only")
        return images.shrunk(kept.read(PHOTOS, name), PHOTO_PX)

    zone = inventory.municipality().time_zone
    text = html.render(said, units=units, paper=paper, time_zone=zone, photo_url=lambda one: pdf.SCHEME + one["kept"])
    return pdf.write(text, picture)


def digest(said: Mapping[str, Any]) -> str:
    """SHA-256 of the canonical JSON of a content."""
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _require(record: ReportRecord, today: date) -> None:
    wrong = []
    if not record.recommendation.strip():
        wrong.append(FieldProblem("#/recommendation", "say what you recommend, or that you recommend none of them"))
    if record.valid_until < today:
        wrong.append(FieldProblem("#/valid_until", "must not lie in the past"))
    elif (record.valid_until - today).days > LONGEST_VALID_DAYS:
        wrong.append(FieldProblem("#/valid_until", "lies more than five years ahead: the tree will have changed"))
    for name, words in (("paper", PAPERS), ("units", UNITS)):
        if getattr(record, name) not in words:
            wrong.append(FieldProblem(f"#/{name}", f"must be one of {', '.join(words)}"))
    if wrong:
        raise Invalid.fields(wrong)


def _same(before: TreeReport, asked: str) -> TreeReport:
    if before.asked_sha256 != asked:
        raise Conflict("a report with this uid was issued with other content")
    return before
