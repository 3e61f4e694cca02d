"""Dry runs of loads: asked for as jobs, their verdicts row by row, as JSON and as CSV."""

import uuid
from typing import Any, Final

from django.http import StreamingHttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.idempotency import idempotent
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.intake import REASON, TAGS, IntakeCheckBody, VerdictShown, as_file
from api.rest.jobs import JobShown, accepted
from api.rest.shapes import listed
from inventory.intake import report, trial
from inventory.models.intake_trial import ROW_VERDICTS
from workers import jobs

CHOICE: Final = (params.word("verdict", "Only rows of this verdict.", ROW_VERDICTS), REASON)


class DryRunShown(serializers.Serializer[Any]):
    """A dry run of a load: it changed nothing."""

    uid = serializers.UUIDField()
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    counts = serializers.JSONField(help_text="As a load's.")
    checked_by = serializers.CharField(source="checked_by.name", default=None, allow_null=True)
    checked_at = serializers.DateTimeField()


class CheckFull(DryRunShown):
    """A dry run with its mapping."""

    mapping = serializers.CharField(help_text="TOML, as it was used.")


class CheckRowShown(VerdictShown):
    """A row of which a check had something to say; `accepted` with a note only."""

    verdict = serializers.ChoiceField(choices=ROW_VERDICTS)


class Checks(View):
    """Dry runs of loads."""

    permission_classes = [may_by_method(GET="intake.view", POST="intake.run")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="intake_checks_list", summary="List the dry runs", responses=listed(DryRunShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """A page of the dry runs that are kept, the oldest first: the newest twenty, for two weeks."""
        page = paging.page(trial.checks(), self.query)
        return paging.answer(request, DryRunShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="intake_check",
        summary="Check a file",
        description="Gives every row its verdict and changes nothing of the inventory; the job's result holds counts"
        " and examples, and under `check` the uid by which the rows can be read.",
        request=IntakeCheckBody,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Ask for the job."""
        return accepted(jobs.ask(self.author, "intake_check", self.read(IntakeCheckBody)))


class OneCheck(View):
    """One dry run."""

    permission_classes = [may("intake.view")]

    @extend_schema(operation_id="intake_check_read", summary="One dry run", responses=CheckFull, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The dry run with its mapping."""
        return Response(CheckFull(trial.check(uid)).data)


class CheckRows(View):
    """The rows of a dry run of which a check had something to say."""

    permission_classes = [may("intake.view")]
    params = {"GET": (*CHOICE, *paging.PAGING)}

    @extend_schema(
        operation_id="intake_check_rows_list",
        summary="Rows of a dry run, with reasons",
        responses=listed(CheckRowShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """A page of rows in the order of the file."""
        rows = trial.rows(trial.check(uid), self.query["verdict"] or "", self.query["reason"] or "")
        page = paging.page(rows, self.query)
        return paging.answer(request, CheckRowShown(page.rows, many=True).data, page.cursor)


class CheckRowsFile(View):
    """The same rows as a file."""

    permission_classes = [may("intake.view")]
    params = {"GET": CHOICE}

    @extend_schema(
        operation_id="intake_check_rows_file",
        summary="Rows of a dry run, as CSV",
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> StreamingHttpResponse:
        """Every row with its reasons and its cells."""
        check = trial.check(uid)
        rows = trial.rows(check, self.query["verdict"] or "", self.query["reason"] or "")
        return as_file(report.write(rows.iterator(), trial.columns(check)), f"check-{uid}.csv")


urlpatterns = [
    path("intake/checks", Checks.as_view(), name="intake-checks"),
    path("intake/checks/<uuid:uid>", OneCheck.as_view(), name="intake-check"),
    path("intake/checks/<uuid:uid>/rows", CheckRows.as_view(), name="intake-check-rows"),
    path("intake/checks/<uuid:uid>/rows.csv", CheckRowsFile.as_view(), name="intake-check-rows-file"),
]
