"""Merging a later file of the city: a dry run and the merge as jobs, what they found row by row, as JSON and as CSV."""

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
from api.rest.intake import TAGS, IntakeCheckBody, as_file
from api.rest.jobs import JobShown, accepted
from api.rest.shapes import listed
from inventory.intake.merge import choices, queries
from inventory.intake.merge.differ import FIELDS, STANDINGS
from inventory.models.intake_trial import KINDS, MERGE_STATES
from workers import jobs

_CHOICES: Final = (
    "`{kinds: {kind: file | ours}, lines: {line: file | ours}, trees: {uid: file | ours}}`: whether the file is taken"
    " or ours is kept, by kind of difference, and over that by line of the file or uid of the tree. The kinds: "
    + "; ".join(f"`{name}` {told} ({'file' if asked else 'ours'})" for name, (told, asked) in choices.ASPECTS.items())
    + " (in brackets: what holds where nothing is said)."
)


class MergeBody(IntakeCheckBody):
    """Which file to merge under which mapping, and what of it to take."""

    choices = serializers.JSONField(required=False, help_text=_CHOICES)
    anyway = serializers.BooleanField(
        required=False, help_text="Merge even where hardly any row is a tree that stands here: else that is refused."
    )

    def validate_choices(self, given: Any) -> Any:
        """Refuse at once what the job would refuse later."""
        choices.read(given)
        return given


class MergeShown(serializers.Serializer[Any]):
    """A merge, or its dry run (`checked`)."""

    uid = serializers.UUIDField()
    state = serializers.ChoiceField(choices=MERGE_STATES)
    load = serializers.UUIDField(
        source="load.uid", default=None, allow_null=True, help_text="What it brought in; undo this to put all back."
    )
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    counts = serializers.JSONField(
        help_text="Rows by kind, how they were matched, differences by field and standing, and what was taken."
    )
    made_by = serializers.CharField(source="made_by.name", default=None, allow_null=True)
    made_at = serializers.DateTimeField()


class NoticeShown(serializers.Serializer[Any]):
    """What holds for many trees at once."""

    kind = serializers.CharField()
    text = serializers.CharField()
    rows = serializers.IntegerField()
    of = serializers.IntegerField()
    field = serializers.CharField(allow_blank=True, help_text="Empty where it is about no single field.")


class DifferenceShown(serializers.Serializer[Any]):
    """One field of a tree or site, here and in the file."""

    field = serializers.ChoiceField(choices=FIELDS)
    ours = serializers.JSONField(
        allow_null=True, help_text="cm for dbh, m for other lengths; [low, high] for a class; [lon, lat] for a place."
    )
    file = serializers.JSONField(allow_null=True)
    standing = serializers.ChoiceField(
        choices=STANDINGS,
        help_text="`conflict`: a person wrote ours since; `kept`: ours is newer than the file, or the key is another's;"
        " `systematic`: all trees differ in this way.",
    )
    taken = serializers.BooleanField(help_text="Whether the file is taken.")


class MergeRowShown(serializers.Serializer[Any]):
    """A row of the file that is not simply the same, or (without a line) a tree that the file does not have."""

    line = serializers.IntegerField(allow_null=True)
    tree = serializers.UUIDField(source="tree_uid", allow_null=True)
    kind = serializers.ChoiceField(choices=KINDS)
    taken = serializers.BooleanField(help_text="Whether anything of the row is taken.")
    distance_m = serializers.FloatField(allow_null=True)
    differences = DifferenceShown(many=True)
    about = serializers.JSONField(help_text="Enough of the row to find it.")
    reasons = serializers.ListField(child=serializers.CharField())
    details = serializers.ListField(child=serializers.CharField(), help_text="Why it was refused, or is ambiguous.")


class MergeFull(MergeShown):
    """A merge with its mapping, its choices, what holds for many trees, and the first rows of each kind."""

    mapping = serializers.CharField(help_text="TOML, as it was used.")
    choices = serializers.JSONField(help_text=_CHOICES)
    notices = NoticeShown(many=True)
    examples = serializers.SerializerMethodField()

    def get_examples(self, merge: Any) -> dict[str, list[dict[str, Any]]]:
        """By kind."""
        return queries.examples(merge)


class MergeChecks(View):
    """Asks for the dry run of a merge."""

    permission_classes = [may("intake.run")]

    @extend_schema(
        operation_id="intake_merge_check",
        summary="Compare a later file",
        description="Matches the rows of a later file of this city to the trees here and says what a merge would do;"
        " changes nothing of the inventory. The job's result holds counts, notices and examples, and under `merge` the"
        " uid by which the rows can be read.",
        request=MergeBody,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Ask for the job."""
        return accepted(jobs.ask(self.author, "intake_merge_check", self.read(MergeBody)))


class Merges(View):
    """All merges and the dry runs that are kept."""

    permission_classes = [may_by_method(GET="intake.view", POST="intake.run")]
    params = {"GET": (params.word("state", "How it stands.", MERGE_STATES), *paging.PAGING)}

    @extend_schema(
        operation_id="intake_merges_list", summary="List the merges", responses=listed(MergeShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """A page of merges, the oldest first."""
        rows = queries.merges()
        if self.query["state"]:
            rows = rows.filter(state=self.query["state"])
        page = paging.page(rows, self.query)
        return paging.answer(request, MergeShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="intake_merge",
        summary="Merge a later file",
        description="All or nothing. What a person edited or measured since is kept unless the choices say otherwise."
        " Undo the load that the result names to put everything back.",
        request=MergeBody,
        responses={202: JobShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> Response:
        """Ask for the job."""
        return accepted(jobs.ask(self.author, "intake_merge", self.read(MergeBody)))


class OneMerge(View):
    """One merge."""

    permission_classes = [may("intake.view")]

    @extend_schema(operation_id="intake_merge_read", summary="One merge", responses=MergeFull, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The merge with its notices and examples."""
        return Response(MergeFull(queries.merge(uid)).data)


CHOICE: Final = (
    params.word("kind", "Only rows of this kind.", KINDS),
    params.word("field", "Only rows that differ in this field.", FIELDS),
    params.word("standing", "Only rows with a difference that stands so.", STANDINGS),
)


class MergeRows(View):
    """The rows of a merge that are not simply the same."""

    permission_classes = [may("intake.view")]
    params = {"GET": (*CHOICE, *paging.PAGING)}

    @extend_schema(
        operation_id="intake_merge_rows_list",
        summary="Rows of a merge",
        responses=listed(MergeRowShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """A page of rows in the order of the file, then of trees that the file does not have."""
        chosen = {name: self.query[name] or "" for name in ("kind", "field", "standing")}
        page = paging.page(queries.rows(queries.merge(uid), **chosen), self.query)
        return paging.answer(request, MergeRowShown(page.rows, many=True).data, page.cursor)


class MergeRowsFile(View):
    """The same rows as a file."""

    permission_classes = [may("intake.view")]
    params = {"GET": CHOICE}

    @extend_schema(
        operation_id="intake_merge_rows_file",
        summary="Rows of a merge, as CSV",
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> StreamingHttpResponse:
        """Every row, its differences in words."""
        chosen = {name: self.query[name] or "" for name in ("kind", "field", "standing")}
        rows = queries.rows(queries.merge(uid), **chosen)
        return as_file(queries.as_csv(rows.iterator()), f"merge-{uid}.csv")


urlpatterns = [
    path("intake/merge-checks", MergeChecks.as_view(), name="intake-merge-checks"),
    path("intake/merges", Merges.as_view(), name="intake-merges"),
    path("intake/merges/<uuid:uid>", OneMerge.as_view(), name="intake-merge"),
    path("intake/merges/<uuid:uid>/rows", MergeRows.as_view(), name="intake-merge-rows"),
    path("intake/merges/<uuid:uid>/rows.csv", MergeRowsFile.as_view(), name="intake-merge-rows-file"),
]
