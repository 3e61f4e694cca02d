"""The intake: files up, survey, check and load as jobs, loads with their verdicts, undo."""

import uuid
from collections.abc import Iterator, Mapping
from typing import IO, Any, Final

from django.conf import settings
from django.http import StreamingHttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import BaseParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging, params
from api.http.idempotency import idempotent
from api.http.kinds import TooLarge
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.jobs import JobShown, accepted
from api.rest.shapes import listed
from inventory.formats import csv_writer
from inventory.intake import files, mapping, queries, report
from inventory.intake.checks import CHECKS
from inventory.models.intake_load import STATES, VERDICTS
from inventory.problems import Conflict, FieldProblem, Invalid
from workers import jobs

TAGS = ["intake"]
CHUNK: Final = 1 << 20
_MAPPING = "As a survey suggests it and MAP.toml holds it: `{file: {...}, column: [{heading, role, unit, format}]}`."


class FileUpload(serializers.Serializer[Any]):
    """A tree file as a form sends it."""

    file = serializers.FileField()


class FileKept(serializers.Serializer[Any]):
    """A kept file, known by its content."""

    sha256 = serializers.CharField()
    size = serializers.IntegerField(help_text="Bytes.")


class SurveyBody(fields.Body):
    """Which file to look at."""

    sha256 = fields.Text(max_length=64, help_text="As the upload answered.")
    name = fields.Text(max_length=200, required=False, help_text="The name to call it by.")


class SurveyAskBody(SurveyBody):
    """Which file to look at, and how it is laid out where its bytes are misread."""

    layout = serializers.JSONField(
        required=False, help_text="`{format, encoding, delimiter, header, layer}`, as the [file] table of a mapping."
    )

    def validate_layout(self, given: Any) -> Any:
        """Refuse at once what the job would refuse later."""
        try:
            mapping.layout_of(given)
        except Invalid as refused:
            wrong = [FieldProblem(e.pointer.replace("#/file", "#/layout"), e.detail) for e in refused.errors]
            raise Invalid.fields(wrong) from refused
        return given


class IntakeCheckBody(SurveyBody):
    """Which file to check under which mapping."""

    mapping = serializers.JSONField(help_text=_MAPPING)

    def validate_mapping(self, given: Any) -> Any:
        """Refuse at once what the job would refuse later."""
        try:
            mapping.from_dict(given)
        except Invalid as refused:
            wrong = [FieldProblem(f"#/mapping/{e.pointer.lstrip('#/')}", e.detail) for e in refused.errors]
            raise Invalid.fields(wrong) from refused
        return given


class LoadBody(IntakeCheckBody):
    """Which file to load under which mapping."""

    refused = fields.Word(
        choices=["skip", "stop"], required=False, help_text="`stop`: load nothing where any row is refused."
    )


class LoadShown(serializers.Serializer[Any]):
    """A load: all of it is in the inventory, or (undone) nothing."""

    uid = serializers.UUIDField()
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    counts = serializers.JSONField(help_text="Rows by verdict and reason, trees, vacant sites, species by match.")
    loaded_by = serializers.CharField(source="loaded_by.name", default=None, allow_null=True)
    loaded_at = serializers.DateTimeField()
    undone_by = serializers.CharField(source="undone_by.name", default=None, allow_null=True)
    undone_at = serializers.DateTimeField(allow_null=True)


class ReasonShown(serializers.Serializer[Any]):
    """How many rows a check found, with examples."""

    name = serializers.CharField()
    severity = serializers.ChoiceField(choices=["refuse", "warn", "note"])
    title = serializers.CharField()
    rows = serializers.IntegerField()
    examples = serializers.SerializerMethodField()

    def get_examples(self, reason: queries.ReasonCount) -> list[dict[str, Any]]:
        """The first few rows and what was said of them."""
        return [{"line": line, "detail": detail} for line, detail in reason.examples]


class LoadFull(LoadShown):
    """A load with its mapping and the reasons of its verdicts."""

    mapping = serializers.CharField(help_text="TOML, as it was used.")
    notes = serializers.ListField(child=serializers.CharField(), help_text="What the survey noted of the file.")
    merge = serializers.UUIDField(
        source="merge.uid", default=None, allow_null=True, help_text="The merge that this load was made by."
    )
    reasons = serializers.SerializerMethodField()

    def get_reasons(self, load: Any) -> list[dict[str, Any]]:
        """Each reason with its count and examples."""
        return [dict(ReasonShown(reason).data) for reason in queries.verdict_counts(load)]


class VerdictShown(serializers.Serializer[Any]):
    """A row that was refused, or accepted with a warning, with its cells as they stood in the file."""

    line = serializers.IntegerField()
    verdict = serializers.ChoiceField(choices=VERDICTS)
    reasons = serializers.ListField(child=serializers.CharField())
    details = serializers.ListField(child=serializers.CharField())
    cells = serializers.JSONField()


REASON: Final = params.word("reason", "Only rows that this check found.", [check.name for check in CHECKS])
CHOICE: Final = (params.word("verdict", "Only rows of this verdict.", VERDICTS), REASON)


class RawFile(BaseParser):
    """Hands on the body as it comes, for uploads that are no form."""

    media_type = "*/*"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        """Return the stream itself."""
        return stream


class Files(View):
    """Uploaded files."""

    permission_classes = [may("intake.run")]
    parser_classes = [MultiPartParser, RawFile]

    @extend_schema(
        operation_id="intake_upload",
        summary="Upload a tree file",
        description="As a form with the field `file`, or as the plain body. What it is follows from its bytes; the same"
        " content again is the same file.",
        request={"multipart/form-data": FileUpload, "application/octet-stream": OpenApiTypes.BINARY},
        responses={201: FileKept},
        tags=TAGS,
    )
    def post(self, request: Request) -> Response:
        """Keep the file; one that cannot be read is refused."""
        declared = request.headers.get("Content-Length", "")
        if declared.isdecimal() and int(declared) > settings.UPLOAD_MAX_BYTES + CHUNK:
            raise TooLarge(f"a file may hold {settings.UPLOAD_MAX_BYTES:,} bytes at most")
        kept = files.store(_chunks(request))
        return Response(FileKept({"sha256": kept.sha256, "size": kept.size}).data, status=201)


def _chunks(request: Request) -> Iterator[bytes]:
    """The pieces of the uploaded file. Raises Invalid where a form has no file."""
    if not (request.content_type or "").startswith("multipart/"):
        # DRF gives an empty body to no parser.
        stream: Any = request.data
        while hasattr(stream, "read") and (piece := stream.read(CHUNK)):
            yield piece
        return
    file = request.FILES.get("file")
    if file is None:
        raise Invalid.field("#/file", "the form has no file of this name")
    yield from file.chunks()


class Surveys(View):
    """Asks for a survey."""

    permission_classes = [may("intake.run")]

    @extend_schema(
        operation_id="intake_survey",
        summary="Survey a file",
        description="Suggests what each column means, with confidence and evidence. The job's result holds the"
        " `mapping`; of each of the `columns` a `glance` (a histogram of its numbers or years, or its commonest texts"
        " with their rows); a `map` with at most 2,000 sampled places (longitude, latitude), strays apart; `doubts` for"
        " a person; and `fits`, the saved mappings and earlier loads that were made for such headings.",
        request=SurveyAskBody,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Ask for the job."""
        return accepted(jobs.ask(self.author, "intake_survey", self.read(SurveyAskBody)))


class Loads(View):
    """All loads."""

    permission_classes = [may_by_method(GET="intake.view", POST="intake.run")]
    params = {"GET": (params.word("state", "How it stands.", STATES), *paging.PAGING)}

    @extend_schema(operation_id="intake_loads_list", summary="List the loads", responses=listed(LoadShown()), tags=TAGS)
    def get(self, request: Request) -> Response:
        """A page of loads, the oldest first."""
        rows = queries.loads()
        if self.query["state"]:
            rows = rows.filter(state=self.query["state"])
        page = paging.page(rows, self.query)
        return paging.answer(request, LoadShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="intake_load",
        summary="Load a file",
        description="All or nothing; the same file under the same mapping changes nothing.",
        request=LoadBody,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Ask for the job."""
        return accepted(jobs.ask(self.author, "intake_load", self.read(LoadBody)))


class OneLoad(View):
    """One load."""

    permission_classes = [may("intake.view")]

    @extend_schema(operation_id="intake_load_read", summary="One load", responses=LoadFull, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The load with its mapping and the reasons of its verdicts."""
        return Response(LoadFull(queries.load(uid)).data)


class UndoLoad(View):
    """Takes a load back."""

    permission_classes = [may("intake.run")]

    @extend_schema(
        operation_id="intake_load_undo",
        summary="Undo a load or a merge",
        description="Only while nothing builds on it: else the job fails with a conflict that names what does.",
        request=None,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Ask for the job. A load that is undone already is refused at once (409)."""
        load = queries.load(uid)
        if load.state == "undone":
            raise Conflict("this load was undone already")
        return accepted(jobs.ask(self.author, "intake_undo", {"load": str(uid)}))


class Verdicts(View):
    """The rows of a load that were refused or warned of."""

    permission_classes = [may("intake.view")]
    params = {"GET": (*CHOICE, *paging.PAGING)}

    @extend_schema(
        operation_id="intake_verdicts_list",
        summary="Rows refused or warned of",
        responses=listed(VerdictShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """A page of rows in the order of the file."""
        rows = queries.verdicts(queries.load(uid), self.query["verdict"] or "", self.query["reason"] or "")
        page = paging.page(rows, self.query)
        return paging.answer(request, VerdictShown(page.rows, many=True).data, page.cursor)


class VerdictsFile(View):
    """The same rows as a file."""

    permission_classes = [may("intake.view")]
    params = {"GET": CHOICE}

    @extend_schema(
        operation_id="intake_verdicts_file",
        summary="Rows refused or warned of, as CSV",
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> StreamingHttpResponse:
        """Every row with its reasons and its cells."""
        load = queries.load(uid)
        rows = queries.verdicts(load, self.query["verdict"] or "", self.query["reason"] or "")
        return as_file(report.write(rows.iterator(), queries.columns(load)), f"verdicts-{uid}.csv")


def as_file(content: Iterator[bytes], name: str) -> StreamingHttpResponse:
    """A CSV file to be saved, as it is made."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return StreamingHttpResponse(content, content_type=csv_writer.MEDIA_TYPE, headers=headers)


urlpatterns = [
    path("intake/files", Files.as_view(), name="intake-files"),
    path("intake/surveys", Surveys.as_view(), name="intake-surveys"),
    path("intake/loads", Loads.as_view(), name="intake-loads"),
    path("intake/loads/<uuid:uid>", OneLoad.as_view(), name="intake-load"),
    path("intake/loads/<uuid:uid>/verdicts", Verdicts.as_view(), name="intake-verdicts"),
    path("intake/loads/<uuid:uid>/verdicts.csv", VerdictsFile.as_view(), name="intake-verdicts-file"),
    path("intake/loads/<uuid:uid>/undo", UndoLoad.as_view(), name="intake-undo"),
]
