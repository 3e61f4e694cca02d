"""Written reports: a draft at any time, issued editions for ever, as HTML and PDF."""

import uuid
from collections.abc import Mapping
from typing import Any, Final

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging, params
from api.http.headers import content_policy
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import listed
from assessments.models import TreeReport
from assessments.models.tree_report import PAPERS
from assessments.report.document import html, queries, services
from assessments.report.document.services import ReportRecord
from inventory import calendar
from inventory import queries as inventory
from inventory.people.models import UNITS

TAGS = ["written reports"]
PAPER: Final = params.word("paper", "The paper.", PAPERS, default="a4")
CAUTION: Final = "Advice to a qualified person and to the owner; it never says that a tree is safe."


class TreeReportBody(fields.Body):
    """What an arborist asks for when a report is issued."""

    uid = serializers.UUIDField()
    valid_until = fields.Day(help_text="At most five years ahead.")
    recommendation = fields.Text(max_length=20_000)
    assumptions = serializers.ListField(child=fields.Text(max_length=1_000), max_length=50, required=False)
    paper = fields.Word(choices=PAPERS, required=False)
    units = fields.Word(choices=UNITS, required=False)


class TreeReportShown(serializers.Serializer[Any]):
    """An issued report; `sha256` is of its PDF, which never changes."""

    uid = serializers.UUIDField()
    number = serializers.CharField()
    edition = serializers.IntegerField()
    inspection = serializers.UUIDField(source="inspection.uid")
    paper = serializers.ChoiceField(choices=PAPERS)
    units = serializers.ChoiceField(choices=UNITS)
    issued_by = serializers.CharField(source="issued_by.name", allow_null=True, default=None)
    issued_on = serializers.DateField()
    valid_until = serializers.DateField()
    sha256 = serializers.CharField(source="pdf_sha256")
    bytes = serializers.IntegerField(source="pdf_bytes")
    pdf = serializers.SerializerMethodField()
    html = serializers.SerializerMethodField()

    def get_pdf(self, row: TreeReport) -> str:
        """The address of the PDF as it was issued."""
        return reverse("api:tree-report-pdf", args=[row.uid])

    def get_html(self, row: TreeReport) -> str:
        """The address of the same content as HTML."""
        return reverse("api:tree-report-html", args=[row.uid])


class TreeReportFull(TreeReportShown):
    """An issued report with all that it says."""

    content = serializers.DictField(help_text="Plain data, SI units; what PDF and HTML are made of.")


class OfTree(View):
    """The reports of a tree."""

    permission_classes = [may("assessments.view")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="tree_reports_list",
        summary="The written reports of a tree",
        responses=listed(TreeReportShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first. Without paging, `limit` at most."""
        rows = queries.reports_of(inventory.tree(uid))[: self.query["limit"]]
        return paging.answer(request, TreeReportShown(rows, many=True).data, None)


class Issue(View):
    """Issues a report."""

    permission_classes = [may("reports.issue")]

    @extend_schema(
        operation_id="tree_reports_issue",
        summary="Issue the written report of an inspection",
        description=CAUTION,
        request=TreeReportBody,
        responses={200: TreeReportShown, 201: TreeReportShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Freeze what is known now and make the PDF: 201; the same uid and content again: 200; other content: 409.

        A later edition is a row of its own: nothing that was issued changes.
        """
        given = self.read(TreeReportBody)
        record = ReportRecord(**{**given, "assumptions": tuple(given.get("assumptions", ()))})
        row, new = services.issue(self.author, uid, record, calendar.today())
        where = reverse("api:tree-report", args=[row.uid])
        return Response(TreeReportShown(row).data, status=201 if new else 200, headers={"Location": where})


class One(View):
    """One report."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="tree_reports_read", summary="One written report", responses=TreeReportFull, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With all that it says."""
        return Response(TreeReportFull(queries.report(uid)).data)


class Pdf(View):
    """A report on paper."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="tree_reports_pdf",
        summary="A written report as PDF",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """The bytes as they were issued; 404 where they are lost or were changed."""
        row = queries.report(uid)
        return _pdf(queries.paper(row), row.number)


class Html(View):
    """A report on the screen."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="tree_reports_html",
        summary="A written report as HTML",
        responses={(200, "text/html"): OpenApiTypes.STR},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """The issued content, as the document looks now."""
        row = queries.report(uid)
        return _html(row.content, row.units, row.paper)


class DraftPdf(View):
    """A draft on paper."""

    permission_classes = [may("reports.issue")]
    params = {"GET": (PAPER, params.UNITS)}

    @extend_schema(
        operation_id="tree_reports_draft_pdf",
        summary="What would be issued now, as PDF",
        description=CAUTION,
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Stores nothing."""
        said = services.draft(uid)
        return _pdf(services.paper_of(said, units=self.units, paper=self.query["paper"]), "draft")


class DraftHtml(View):
    """A draft on the screen."""

    permission_classes = [may("reports.issue")]
    params = {"GET": (PAPER, params.UNITS)}

    @extend_schema(
        operation_id="tree_reports_draft_html",
        summary="What would be issued now, as HTML",
        description=CAUTION,
        responses={(200, "text/html"): OpenApiTypes.STR},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Stores nothing."""
        return _html(services.draft(uid), self.units, self.query["paper"])


def _pdf(content: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'inline; filename="tree-report-{name}.pdf"'}
    return HttpResponse(content, content_type="application/pdf", headers=headers)


def _html(content: Mapping[str, Any], units: str, paper: str) -> HttpResponse:
    zone = inventory.municipality().time_zone
    text = html.render(content, units=units, paper=paper, time_zone=zone, photo_url=_photo)
    policy = content_policy(style_src=f"'sha256-{html.style_sha256(paper)}'", script_src="'none'")
    return HttpResponse(text, headers={"Content-Security-Policy": policy})


def _photo(one: Mapping[str, Any]) -> str:
    return f"{reverse('api:photo-picture', args=[one['uid']])}"


urlpatterns = [
    path("trees/<uuid:uid>/reports", OfTree.as_view(), name="tree-reports"),
    path("inspections/<uuid:uid>/reports", Issue.as_view(), name="tree-report-issue"),
    path("inspections/<uuid:uid>/draft-report.pdf", DraftPdf.as_view(), name="tree-report-draft-pdf"),
    path("inspections/<uuid:uid>/draft-report.html", DraftHtml.as_view(), name="tree-report-draft-html"),
    path("tree-reports/<uuid:uid>", One.as_view(), name="tree-report"),
    path("tree-reports/<uuid:uid>/report.pdf", Pdf.as_view(), name="tree-report-pdf"),
    path("tree-reports/<uuid:uid>/report.html", Html.as_view(), name="tree-report-html"),
]
