"""Decisions: who decided what about a tree, when, why and under which conditions."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.inspection_shapes import CheckShown
from api.rest.option_bodies import DecisionBody, decision_record
from api.rest.shapes import listed
from assessments import queries, services
from assessments.models import Decision, Option
from inventory import calendar
from inventory import queries as inventory
from inventory.models import Tree
from inventory.problems import Invalid

TAGS = ["decisions"]
CAUTION = (
    "Advice stays advice: a decision is the owner's, and does not make a tree safe. Local codes and licensed practice"
    " come first."
)


class DecisionShown(serializers.Serializer[Any]):
    """A decision with the option as it was when it was chosen; in force while nothing supersedes it."""

    uid = serializers.UUIDField()
    tree = serializers.UUIDField(source="tree.uid")
    inspection = serializers.UUIDField(source="inspection.uid")
    option = serializers.UUIDField(source="option.uid")
    kind = serializers.CharField(source="option.kind")
    key = serializers.CharField(source="option.key")
    decided_on = serializers.DateField()
    decided_by = serializers.CharField()
    office = serializers.CharField()
    why = serializers.CharField()
    conditions = serializers.CharField()
    accepted_risk = serializers.CharField()
    ends_on = serializers.DateField(allow_null=True)
    act_by = serializers.DateField(allow_null=True)
    chosen = serializers.DictField(help_text="The option and its estimate as they were then.")
    supersedes = serializers.UUIDField(source="supersedes.uid", allow_null=True, default=None)
    superseded_by = serializers.UUIDField(source="superseded_by.uid", allow_null=True, default=None)
    checks = CheckShown(many=True, source="asked_checks")
    recorded_by = serializers.CharField(source="recorded_by.name", allow_null=True, default=None)
    received_at = serializers.DateTimeField()


class OfTree(View):
    """The decisions about a tree."""

    permission_classes = [may_by_method(GET="assessments.view", POST="decisions.record")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="decisions_of_tree",
        summary="Decisions about a tree",
        responses=listed(DecisionShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first: the first one is in force. Without paging, `limit` at most."""
        rows = queries.decisions_of(inventory.tree(uid))[: self.query["limit"]]
        return paging.answer(request, DecisionShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="decisions_take",
        summary="Record a decision",
        description=CAUTION,
        request=DecisionBody,
        responses={201: DecisionShown, 200: DecisionShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Record it: 201; the same uid and content again: 200; other content: 409.

        It writes the required checks that it commits to and makes no work. It supersedes the decision in force. Where
        a risk of moderate or more stays, it says in words what is accepted and until when; on that day the tree is due.
        """
        said = self.read(DecisionBody)
        option = _option(inventory.tree(uid), said["option"])
        decision, created = services.take_decision(self.author, option, decision_record(said), calendar.today())
        shown = DecisionShown(queries.decision(decision.uid)).data
        where = reverse("api:decision", args=[decision.uid])
        return Response(shown, status=201 if created else 200, headers={"Location": where})


def _option(tree: Tree, uid: uuid.UUID) -> Option:
    found = Option.objects.select_related("inspection").filter(uid=uid, inspection__tree=tree).first()
    if found is None:
        raise Invalid.field("#/option", "there is no such option of an inspection of this tree")
    return found


class One(View):
    """One decision."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="decisions_read", summary="One decision", responses=DecisionShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With the checks that it asked for."""
        return Response(DecisionShown(queries.decision(uid)).data)


class Decisions(View):
    """Decisions in force."""

    permission_classes = [may("assessments.view")]
    params = {
        "GET": (
            *paging.PAGING,
            params.word(
                "state",
                "`open`: not answered by reported work yet; `lapsed`: its conditions have ended.",
                ("in_force", "open", "lapsed"),
                "in_force",
            ),
        )
    }

    @extend_schema(
        operation_id="decisions_list", summary="Decisions in force", responses=listed(DecisionShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """A page, in the order in which they were recorded."""
        rows = queries.decisions(self.query["state"], calendar.today())
        page: paging.Page[Decision] = paging.page(rows, self.query)
        return paging.answer(request, DecisionShown(page.rows, many=True).data, page.cursor)


urlpatterns = [
    path("trees/<uuid:uid>/decisions", OfTree.as_view(), name="tree-decisions"),
    path("decisions", Decisions.as_view(), name="decisions"),
    path("decisions/<uuid:uid>", One.as_view(), name="decision"),
]
