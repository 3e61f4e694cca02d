"""Dissections: what was found in felled stems, what the methods make of it, and which felled trees ask for one."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest import dissection_bodies as bodies
from api.rest.shapes import listed
from assessments import queries, services
from assessments.models import Dissection
from inventory import calendar
from inventory import queries as inventory

TAGS = ["dissections"]
CAUTION = (
    "Cut a felled stem only where it lies safe and cannot roll or spring; chain saw rules and licensed practice come"
    " first."
)


class CutShown(serializers.Serializer[Any]):
    """A cut as it was sent, at its height above ground."""

    uid = serializers.UUIDField()
    height_m = serializers.FloatField()
    measured = serializers.DictField()


class ResultShown(serializers.Serializer[Any]):
    """What one version of a method made of it; `inspection`: the judgement that was held against the truth."""

    method = serializers.CharField()
    version = serializers.IntegerField()
    rests_on = serializers.CharField(help_text="The methods that it rests on, each with its version.")
    inspection = serializers.UUIDField(source="inspection.uid", allow_null=True, default=None)
    computed_at = serializers.DateTimeField()
    result = serializers.DictField()


class DissectionShown(serializers.Serializer[Any]):
    """A dissection as recorded: cuts from below, results the newest first; what older versions made of it is kept."""

    uid = serializers.UUIDField()
    tree = serializers.UUIDField(source="tree.uid")
    felled_on = serializers.DateField()
    dissected_on = serializers.DateField()
    reason = serializers.CharField()
    note = serializers.CharField()
    measured = serializers.DictField(help_text="What was said of the stem as a whole.")
    cuts = CutShown(many=True)
    results = ResultShown(many=True)
    recorded_by = serializers.CharField(source="recorded_by.name", allow_null=True, default=None)
    received_at = serializers.DateTimeField()


class RequestShown(serializers.Serializer[Any]):
    """A felled tree whose stem is worth opening."""

    tree = serializers.UUIDField(source="tree.uid")
    tag = serializers.CharField(source="tree.tag", allow_null=True)
    species = serializers.SerializerMethodField()
    removed_on = serializers.DateField(source="tree.removed_on")
    removal_reason = serializers.CharField(source="tree.removal_reason")
    reason = serializers.CharField(help_text="predicted_weakness: it was rated as weak; random_sample: drawn by lot.")

    def get_species(self, row: Any) -> str:
        """Botanical name, or the text of the city's file."""
        return row.tree.species.botanical_name if row.tree.species else str(row.tree.species_text)


class OfTree(View):
    """The dissections of a tree."""

    permission_classes = [may_by_method(GET="assessments.view", POST="dissections.record")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="dissections_of_tree",
        summary="Dissections of a tree",
        responses=listed(DissectionShown()),
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first; without paging, `limit` at most."""
        rows = queries.dissections_of(inventory.tree(uid))[: self.query["limit"]]
        return paging.answer(request, DissectionShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="dissections_record",
        summary="Record a dissection",
        description=CAUTION,
        request=bodies.DissectionBody,
        responses={201: DissectionShown, 200: DissectionShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Record it: 201; the same uid and content again: 200; other content: 409. It may come late, and without cuts.

        The stem is rebuilt from its cuts and held against the last inspection before it was felled.
        """
        record = bodies.dissection_record(self.read(bodies.DissectionBody))
        made, created = services.record_dissection(self.author, inventory.tree(uid), record, calendar.today())
        where = reverse("api:dissection", args=[made.uid])
        shown = DissectionShown(queries.dissection(made.uid)).data
        return Response(shown, status=201 if created else 200, headers={"Location": where})


class Dissections(View):
    """Every dissection."""

    permission_classes = [may("assessments.view")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="dissections_list", summary="Dissections", responses=listed(DissectionShown()), tags=TAGS
    )
    def get(self, request: Request) -> Response:
        """A page, in the order in which they were recorded."""
        page: paging.Page[Dissection] = paging.page(queries.all_dissections(), self.query)
        return paging.answer(request, DissectionShown(page.rows, many=True).data, page.cursor)


class One(View):
    """One dissection."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="dissections_read", summary="One dissection", responses=DissectionShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With its cuts and what the methods made of them."""
        return Response(DissectionShown(queries.dissection(uid)).data)


class Cuts(View):
    """The cuts of a dissection."""

    permission_classes = [may("dissections.record")]

    @extend_schema(
        operation_id="dissections_add_cut",
        summary="Add a cut",
        description=CAUTION,
        request=bodies.LaterCutBody,
        responses={201: DissectionShown, 200: DissectionShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Add it: 201; the same uid and content again: 200; other content: 409. All is computed anew with it."""
        found = queries.dissection(uid)
        _, created = services.add_cut(self.author, found, bodies.cut_record(self.read(bodies.LaterCutBody)))
        return Response(DissectionShown(queries.dissection(uid)).data, status=201 if created else 200)


class Requests(View):
    """The felled trees that ask for a dissection."""

    permission_classes = [may("assessments.view")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="dissection_requests",
        summary="Felled trees to be opened",
        responses=listed(RequestShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """Felled in the last 60 days and not opened yet: each that was rated as weak, and a random share of the others.

        The share is the policy's `dissection.sample_percent`. Without paging, `limit` at most.
        """
        rows = queries.dissection_requests(calendar.today())[: self.query["limit"]]
        return paging.answer(request, RequestShown(rows, many=True).data, None)


urlpatterns = [
    path("trees/<uuid:uid>/dissections", OfTree.as_view(), name="tree-dissections"),
    path("dissections", Dissections.as_view(), name="dissections"),
    path("dissections/<uuid:uid>", One.as_view(), name="dissection"),
    path("dissections/<uuid:uid>/cuts", Cuts.as_view(), name="dissection-cuts"),
    path("dissection-requests", Requests.as_view(), name="dissection-requests"),
]
