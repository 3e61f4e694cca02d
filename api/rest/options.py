"""Options of an inspection: proposed, added, edited, dropped, set side by side; nothing is ever preselected."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, paging
from api.http.fields import Body, Word
from api.http.permissions import SIGNED_IN, may, may_by_method
from api.http.view import View
from api.rest import option_bodies as bodies
from api.rest.shapes import listed
from assessments import queries, services
from assessments.methods.options import ENTRIES
from assessments.methods.rate_card import ACCESS
from inventory import calendar

TAGS = ["options"]
ADVICE = (
    "Advice to a qualified arborist and to the owner, who decides; nothing is preselected. Local codes, protected"
    " trees and species, and licensed practice come first."
)


class EstimateShown(serializers.Serializer[Any]):
    """What the methods said: costs, upkeep, present value, residual risk, checks, canopy, carbon, value, courses."""

    methods = serializers.CharField(help_text="Each method with its version.")
    rate_card_version = serializers.IntegerField(help_text="0: the shipped card with invented figures.")
    computed_at = serializers.DateTimeField()
    result = serializers.DictField(
        help_text="Costs in `currency`; harm in expected deaths a year (property converted) under three maps of words;"
        " where the arborist states something else, `method_said` holds what the method said."
    )


class OptionShown(serializers.Serializer[Any]):
    """An option with what was said of it, the newest first; what an older card or method said is kept."""

    uid = serializers.UUIDField()
    inspection = serializers.UUIDField(source="inspection.uid")
    kind = serializers.CharField()
    key = serializers.CharField(help_text="Tells it from the other options of its inspection.")
    parameters = serializers.DictField()
    source = serializers.CharField(help_text="`method` or `arborist`.")  # type: ignore[assignment]
    note = serializers.CharField()
    act_by = serializers.DateField(allow_null=True)
    own_cost = serializers.FloatField(allow_null=True)
    own_crew_hours = serializers.FloatField(allow_null=True)
    own_residual = serializers.ListField(child=serializers.DictField(), allow_null=True)
    own_why = serializers.CharField()
    dropped_why = serializers.CharField(help_text="Empty: it is on the table.")
    added_by = serializers.CharField(source="added_by.name", allow_null=True, default=None)
    version = serializers.IntegerField()
    estimates = EstimateShown(many=True)


class ComparisonShown(serializers.Serializer[Any]):
    """The options on the table side by side, none selected, and what a further diagnosis is worth."""

    methods = serializers.CharField()
    rate_card_version = serializers.IntegerField()
    computed_at = serializers.DateTimeField()
    result = serializers.DictField(
        help_text="`options`: measures of each, which others are better by every measure and why;"
        " `information`: the value of a further diagnosis at a tenth, once and ten times the exchange rate, or null."
    )


class OptionsShown(serializers.Serializer[Any]):
    """The options of an inspection in the order in which they are considered."""

    items = OptionShown(many=True)
    next = serializers.URLField(allow_null=True)
    comparison = ComparisonShown(allow_null=True)


class ProposalBody(Body):
    """How the tree is reached, which sets the rates; left out: as it was said last."""

    access = Word(ACCESS, required=False)


class OptionKindShown(serializers.Serializer[Any]):
    """A kind of option."""

    kind = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    changes = serializers.CharField(help_text="target, nothing, part, load, tree or knowledge")
    cautions = serializers.ListField(child=serializers.CharField())


def _shown(view: View, inspection_uid: uuid.UUID, status: int = 200) -> Response:
    inspection = queries.inspection(inspection_uid)
    comparison = queries.option_comparison(inspection)
    return Response(
        {
            "items": OptionShown(queries.options_of(inspection), many=True).data,
            "next": None,
            "comparison": ComparisonShown(comparison).data if comparison else None,
        },
        status=status,
    )


class OfInspection(View):
    """The options of an inspection."""

    permission_classes = [may_by_method(GET="assessments.view", POST="options.edit")]

    @extend_schema(
        operation_id="options_of_inspection",
        summary="Options side by side",
        description=ADVICE,
        responses=OptionsShown,
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """All of them, dropped ones too, with the comparison of those on the table."""
        return _shown(self, uid)

    @extend_schema(
        operation_id="options_add",
        summary="Add an option",
        request=bodies.OptionBody,
        responses={201: OptionShown, 200: OptionShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Add one: 201; the same uid and content again: 200; other content, or an option that is there: 409."""
        record = bodies.option_record(self.read(bodies.OptionBody))
        added, created = services.add_option(self.author, queries.inspection(uid), record, calendar.today())
        where = reverse("api:option", args=[added.uid])
        shown = OptionShown(queries.option(added.uid)).data
        return Response(shown, status=201 if created else 200, headers={"Location": where})


class Proposals(View):
    """What the methods propose for an inspection."""

    permission_classes = [may("options.edit")]

    @extend_schema(
        operation_id="options_propose",
        summary="Propose options",
        description=ADVICE,
        request=ProposalBody,
        responses=OptionsShown,
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Propose what its findings allow, and work all options out by the rate card in force. Again changes nothing.

        What the arborist stated, added or dropped stays.
        """
        access = self.read(ProposalBody).get("access", "")
        services.propose_options(self.author, queries.inspection(uid), calendar.today(), access)
        return _shown(self, uid)


class One(View):
    """One option."""

    permission_classes = [may_by_method(GET="assessments.view", PATCH="options.edit")]
    matched = ("PATCH",)

    @extend_schema(operation_id="options_read", summary="One option", responses=OptionShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """With its ETag."""
        return self._answer(uid)

    @extend_schema(
        operation_id="options_edit",
        summary="Edit or drop an option",
        request=bodies.OptionEdit,
        responses=OptionShown,
        tags=TAGS,
    )
    def patch(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """State a cost, hours or a residual risk in place of the method's, with a reason; drop it, or take it back."""
        option = queries.option(uid)
        version = conditional.matched_version(request, option.version)
        changes = bodies.changes(self.read(bodies.OptionEdit, partial=True))
        if changes:
            services.edit_option(self.author, option, changes, version=version, today=calendar.today())
        return self._answer(uid)

    def _answer(self, uid: uuid.UUID) -> HttpResponse:
        option = queries.option(uid)
        return conditional.answer(self.request, option.version, OptionShown(option).data)


class Kinds(View):
    """The catalogue of options."""

    permission_classes = [may(SIGNED_IN)]

    @extend_schema(
        operation_id="option_kinds", summary="The kinds of option", responses=listed(OptionKindShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """In the order in which they are considered: the target first, removal last."""
        rows = [
            {"kind": kind, "label": one.label, "changes": one.changes, "cautions": list(one.cautions)}
            for kind, one in ENTRIES.items()
        ]
        return paging.answer(request, OptionKindShown(rows, many=True).data, None)


urlpatterns = [
    path("option-kinds", Kinds.as_view(), name="option-kinds"),
    path("inspections/<uuid:uid>/options", OfInspection.as_view(), name="inspection-options"),
    path("inspections/<uuid:uid>/options/proposals", Proposals.as_view(), name="option-proposals"),
    path("options/<uuid:uid>", One.as_view(), name="option"),
]
