"""Reads of issued reports: those of a tree, and the paper exactly as it was handed out."""

import uuid

from django.db.models import QuerySet

from assessments.models import TreeReport
from assessments.report.document.services import FOLDER
from inventory import kept
from inventory.models import Tree
from inventory.problems import Missing


def reports_of(tree: Tree) -> QuerySet[TreeReport]:
    """The reports of a tree without their content, the newest first."""
    return (
        TreeReport.objects.filter(tree=tree).select_related("issued_by", "inspection").defer("content").order_by("-pk")
    )


def report(uid: uuid.UUID) -> TreeReport:
    """One report with its content. Raises Missing."""
    found = TreeReport.objects.select_related("tree", "inspection", "issued_by").filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no report {uid}")
    return found


def paper(report: TreeReport) -> bytes:
    """The PDF as it was issued. Raises Missing where its file is lost or was changed."""
    return kept.read(FOLDER, report.pdf_sha256)
