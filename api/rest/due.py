"""What is due: the list, the queue of the unseen, the summary, and the priority of one tree."""

import uuid
from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import listed
from assessments import queries
from assessments.methods.risk import RISK
from assessments.queries.due import KINDS
from assessments.queries.priorities import HARM_METHOD, HARM_UNIT, METHOD
from inventory import calendar
from inventory import queries as inventory
from inventory.models import Zone
from inventory.problems import FieldProblem, Invalid

TAGS = ["due"]
ABOUT_HARM = f"Unit: {HARM_UNIT}. It orders work; it forecasts no tree."
ZONE = params.text("zone", "Code of a zone.", longest=40)
QUEUE_AFTER = paging.after(float, int)
LIST_AFTER = paging.after(int, int, int, float, int)


class DueShown(serializers.Serializer[Any]):
    """One tree of the list, with the reasons for its place in plain sentences."""

    tree = serializers.UUIDField(source="tree_uid")
    tag = serializers.CharField()
    species = serializers.CharField()
    common_name = serializers.CharField()
    dbh_cm = serializers.FloatField(allow_null=True)
    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    address = serializers.CharField()
    zone = serializers.CharField()
    risk = serializers.CharField(help_text="low, moderate, high or extreme; empty: never rated, which is not low.")
    harm = serializers.FloatField(help_text=ABOUT_HARM)
    act_by = serializers.DateField(allow_null=True)
    inspect_by = serializers.DateField(allow_null=True)
    days_overdue = serializers.IntegerField(allow_null=True, help_text="Negative before the earlier date.")
    rule = serializers.CharField(help_text="The rule that set inspect_by.")
    last_seen = serializers.DateField(allow_null=True)
    work_done = serializers.BooleanField(help_text="Work was reported done since it was rated: look, then rate anew.")
    reasons = serializers.ListField(child=serializers.CharField())
    policy_version = serializers.IntegerField()
    method_version = serializers.IntegerField()


class EmergencyOpen(serializers.Serializer[Any]):
    """An emergency that no later rating has answered."""

    inspection = serializers.UUIDField(source="uid")
    tree = serializers.UUIDField(source="tree.uid")
    cause = serializers.CharField(source="emergency")
    inspected_at = serializers.DateTimeField()


class ByRisk(serializers.Serializer[Any]):
    """Trees by their worst rating."""

    extreme = serializers.IntegerField()
    high = serializers.IntegerField()
    moderate = serializers.IntegerField()
    low = serializers.IntegerField()


class SummaryShown(serializers.Serializer[Any]):
    """How much is due; soon means within 30 days. A tree never rated is never counted as low."""

    today = serializers.DateField()
    trees = serializers.IntegerField()
    by_risk = ByRisk()
    never_rated = serializers.IntegerField()
    act_overdue = serializers.IntegerField()
    act_soon = serializers.IntegerField()
    inspect_overdue = serializers.IntegerField()
    inspect_soon = serializers.IntegerField()
    unseen = serializers.IntegerField(help_text="Never rated, or overdue to be seen.")
    emergencies = EmergencyOpen(many=True)
    top = DueShown(many=True)


class ChangeShown(serializers.Serializer[Any]):
    """A change of class or dates, as a recompute found it."""

    changed_at = serializers.DateTimeField()
    risk_before = serializers.IntegerField(allow_null=True)
    risk = serializers.IntegerField()
    act_by_before = serializers.DateField(allow_null=True)
    act_by = serializers.DateField(allow_null=True)
    inspect_by_before = serializers.DateField(allow_null=True)
    inspect_by = serializers.DateField(allow_null=True)


class HarmShown(serializers.Serializer[Any]):
    """Expected harm a year with its unit, method and version."""

    value = serializers.FloatField(source="row.harm")
    unit = serializers.CharField(default=HARM_UNIT)
    method = serializers.CharField(default=HARM_METHOD)


class RuleDates(serializers.Serializer[Any]):
    """The date that each rule gives, null where it gives none."""

    interval = serializers.DateField(allow_null=True)
    decay = serializers.DateField(allow_null=True)
    establishment = serializers.DateField(allow_null=True)
    check = serializers.DateField(allow_null=True)
    decay_growth = serializers.DateField(allow_null=True)


class PriorityShown(serializers.Serializer[Any]):
    """The priority of a tree: which rule won, the dates of the others, and why."""

    risk = serializers.CharField(help_text="Empty: never rated, which is not low.")
    harm = HarmShown(source="*")
    act_by = serializers.DateField(source="row.act_by", allow_null=True)
    inspect_by = serializers.DateField(source="row.inspect_by", allow_null=True)
    rule = serializers.CharField()
    by_rule = RuleDates()
    last_seen = serializers.DateField(source="row.last_seen", allow_null=True)
    reasons = serializers.ListField(child=serializers.CharField())
    recompute_asked = serializers.BooleanField(help_text="Something changed and a recompute is on its way.")
    policy_version = serializers.IntegerField(source="row.policy_version")
    method = serializers.SerializerMethodField()
    changes = ChangeShown(many=True)

    def get_method(self, shown: Any) -> str:
        """Name and version."""
        return f"{METHOD.split('/')[0]}/{shown.row.method_version}"


class Due(View):
    """The due list."""

    permission_classes = [may("due.view")]
    params = {
        "GET": (
            paging.LIMIT,
            LIST_AFTER,
            params.word("kind", "What is due: work (`act`), a look (`inspect`) or either.", KINDS, "all"),
            ZONE,
            params.word("risk", "Only this class.", RISK),
            params.day("before", "Only what is due on or before this day."),
        )
    }

    @extend_schema(
        operation_id="due_list", summary="What is due, most urgent first", responses=listed(DueShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """By class, then half decade of harm, then days overdue, then harm. A lower class never comes first."""
        page = queries.due_list(
            calendar.today(),
            kind=self.query["kind"],
            zone=_zone(self.query["zone"]),
            risk_class=self.query["risk"],
            before=self.query["before"],
            limit=self.query["limit"],
            after=self.query["after"],
        )
        return _page(request, page)


class Unseen(View):
    """The queue of trees to be seen."""

    permission_classes = [may("due.view")]
    params = {"GET": (paging.LIMIT, QUEUE_AFTER, ZONE)}

    @extend_schema(
        operation_id="due_unseen", summary="Never rated or overdue to be seen", responses=listed(DueShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """By occupancy x size x time since last seen, largest first."""
        zone = _zone(self.query["zone"])
        page = queries.unseen_queue(calendar.today(), zone=zone, limit=self.query["limit"], after=self.query["after"])
        return _page(request, page)


class Summary(View):
    """How much is due."""

    permission_classes = [may("due.view")]

    @extend_schema(operation_id="due_summary", summary="How much is due", responses=SummaryShown, tags=TAGS)
    def get(self, request: Request) -> Response:
        """Counts, open emergencies, and the first items that are due by now or soon."""
        return Response(SummaryShown(queries.due_summary(calendar.today())).data)


class TreePriority(View):
    """The priority of a tree, a resource of its own: a recompute makes no edit of the tree stale."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="priority_of_tree",
        summary="Priority and due dates of a tree",
        description="Advice to a qualified person, never a verdict that a tree is safe.",
        responses=PriorityShown,
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """Which rule won, the dates of the others, and the reasons."""
        return Response(PriorityShown(queries.priority_of(inventory.tree(uid), calendar.today())).data)


def _zone(code: str | None) -> int | None:
    if code is None:
        return None
    found = Zone.objects.filter(code=code).values_list("pk", flat=True).first()
    if found is None:
        raise Invalid(f"zone: there is no zone {code}", [FieldProblem("?zone", "there is no such zone")])
    return found


def _page(request: Request, page: queries.DuePage) -> Response:
    cursor = paging.encode(*page.after) if page.after else None
    return paging.answer(request, DueShown(page.items, many=True).data, cursor)


urlpatterns = [
    path("due", Due.as_view(), name="due"),
    path("due/unseen", Unseen.as_view(), name="due-unseen"),
    path("due/summary", Summary.as_view(), name="due-summary"),
    path("trees/<uuid:uid>/priority", TreePriority.as_view(), name="tree-priority"),
]
