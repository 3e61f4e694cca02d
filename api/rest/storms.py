"""Storms and failures: when it blew how hard, what broke and what it struck, and what became of the rated trees."""

import uuid
from datetime import date
from typing import Any, Final

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.shapes import Real, listed
from assessments import queries, services
from assessments.methods import risk
from assessments.methods.catalogue import PARTS
from assessments.models import Storm, failure
from assessments.models.storm import LEAST_GUST_M_S, MOST_GUST_M_S
from assessments.storm_records import ASKABLE, ChecksAsked, FailureRecord, StormRecord
from assessments.works import outcomes
from inventory import calendar
from inventory import queries as inventory

TAGS = ["outcomes"]
CAUTION = (
    "A failed or damaged tree can fail again: keep people away, and leave whatever touches a line to the utility. Call"
    " the emergency number first."
)
_GUST: Final[Any] = {"min_value": LEAST_GUST_M_S, "max_value": MOST_GUST_M_S}
MOST_ZONES: Final = 500


class GustBody(fields.Body):
    """The largest gust of a zone."""

    zone = fields.Text(max_length=40, help_text="Its code.")
    gust_m_s = fields.Number(**_GUST, help_text="3 seconds at 10 m.")


_GUSTS: Final[Any] = GustBody  # a list of them takes what one alone does not


class AskBody(fields.Body):
    """Checks to be asked for after the storm: of standing trees of a class of risk or worse."""

    due_on = fields.Day()
    zones = fields.Array(
        child=fields.Text(max_length=40), max_length=MOST_ZONES, required=False, default=list,
        help_text="Codes; left out: the zones that have a gust, else the whole city.",
    )  # fmt: skip
    least_risk = fields.Word(ASKABLE, required=False, default="moderate")


class StormBody(fields.Body):
    """A storm. The client makes the `uid`: the same uid and content is the same storm."""

    uid = fields.Uid()
    name = fields.Text(max_length=200)
    began_on = fields.Day()
    ended_on = fields.Day()
    gust_m_s = fields.Number(
        required=False, allow_null=True, default=None, **_GUST, help_text="Of the city: 3 seconds at 10 m."
    )
    gusts = _GUSTS(many=True, required=False, max_length=MOST_ZONES, default=list)
    gust_source = fields.Text(max_length=300, required=False, allow_blank=True, default="")
    note = fields.Text(required=False, allow_blank=True, default="")
    ask_checks = AskBody(required=False, allow_null=True, default=None)


class GustShown(serializers.Serializer[Any]):
    """The gust of a zone."""

    zone = serializers.CharField(source="zone.code")
    gust_m_s = serializers.FloatField()


class StormShown(serializers.Serializer[Any]):
    """A storm as recorded; gusts are the largest of 3 seconds at 10 m, in m/s."""

    uid = serializers.UUIDField()
    name = serializers.CharField()
    began_on = serializers.DateField()
    ended_on = serializers.DateField()
    gust_m_s = Real(help_text="Of the city.")
    gusts = GustShown(many=True)
    gust_source = serializers.CharField()
    note = serializers.CharField()
    failures = serializers.IntegerField(source="failure_count")
    checks_asked = serializers.IntegerField(help_text="Checks asked for when it was recorded.")
    recorded_by = serializers.CharField(source="recorded_by.name", allow_null=True, default=None)
    received_at = serializers.DateTimeField()


class FailureBody(fields.Body):
    """A failure. The client makes the `uid`: the same uid and content is the same failure."""

    uid = fields.Uid()
    part = fields.Word(tuple(PARTS))
    happened_from = fields.Day(help_text="The day, or the first on which it may have happened.")
    happened_to = fields.Day(required=False, allow_null=True, default=None, help_text="Left out: the same day.")
    finding = fields.Uid(required=False, allow_null=True, default=None, help_text="The weakness that failed.")
    inspection = fields.Uid(required=False, allow_null=True, default=None, help_text="The look that told of it.")
    storm = fields.Uid(required=False, allow_null=True, default=None)
    struck = fields.Word(failure.STRUCK)
    damage = fields.Word(risk.CONSEQUENCES, required=False, allow_null=True, default=None, help_text="How badly.")
    seen_by = fields.Text(max_length=200, help_text="Who saw it, or how it is known.")
    note = fields.Text(required=False, allow_blank=True, default="")


class FailedIn(serializers.Serializer[Any]):
    """The storm of a failure, in short."""

    uid = serializers.UUIDField()
    name = serializers.CharField()


class FailureShown(serializers.Serializer[Any]):
    """A failure as recorded; `dissection`: the stem that was opened because of it."""

    uid = serializers.UUIDField()
    tree = serializers.UUIDField(source="tree.uid")
    part = serializers.CharField()
    happened_from = serializers.DateField()
    happened_to = serializers.DateField()
    finding = serializers.UUIDField(source="finding.uid", allow_null=True, default=None)
    inspection = serializers.UUIDField(source="inspection.uid", allow_null=True, default=None)
    storm = FailedIn(allow_null=True)
    struck = serializers.CharField()
    damage = serializers.CharField(allow_null=True)
    seen_by = serializers.CharField()
    note = serializers.CharField()
    dissection = serializers.UUIDField(allow_null=True)
    recorded_by = serializers.CharField(source="recorded_by.name", allow_null=True, default=None)
    received_at = serializers.DateTimeField()


def storm_record(said: dict[str, Any]) -> StormRecord:
    """The record of a checked storm."""
    asked = said["ask_checks"]
    checks = asked and ChecksAsked(asked["due_on"], tuple(asked["zones"]), asked["least_risk"])
    gusts = tuple((one["zone"], one["gust_m_s"]) for one in said["gusts"])
    return StormRecord(**said | {"gusts": gusts, "ask_checks": checks})


def failure_record(said: dict[str, Any]) -> FailureRecord:
    """The record of a checked failure; one day where no second one is given."""
    last: date = said["happened_to"] or said["happened_from"]
    return FailureRecord(**said | {"happened_to": last})


class Storms(View):
    """The storms."""

    permission_classes = [may_by_method(GET="assessments.view", POST="storms.record")]
    params = {"GET": paging.PAGING}

    @extend_schema(operation_id="storms_list", summary="Storms", responses=listed(StormShown()), tags=TAGS)
    def get(self, request: Request) -> Response:
        """A page, in the order in which they were recorded."""
        page: paging.Page[Storm] = paging.page(queries.storms().order_by("pk"), self.query)
        return paging.answer(request, StormShown(page.rows, many=True).data, page.cursor)

    @extend_schema(
        operation_id="storms_record",
        summary="Record a storm",
        request=StormBody,
        responses={201: StormShown, 200: StormShown},
        tags=TAGS,
    )
    def post(self, request: Request) -> HttpResponse:
        """Record it: 201; the same uid and content again: 200; other content: 409.

        Only where `ask_checks` says so, the standing trees at moderate risk or more in the zones it struck are asked to
        be seen again: one check a tree, and none where such a check is open for as early a day.
        """
        made, created = services.record_storm(self.author, storm_record(self.read(StormBody)), calendar.today())
        shown = StormShown(queries.storm(made.uid)).data
        where = reverse("api:storm", args=[made.uid])
        return Response(shown, status=201 if created else 200, headers={"Location": where})


class OneStorm(View):
    """One storm."""

    permission_classes = [may("assessments.view")]

    @extend_schema(operation_id="storms_read", summary="One storm", responses=StormShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """With its gusts."""
        return Response(StormShown(queries.storm(uid)).data)


class OfTree(View):
    """The failures of a tree."""

    permission_classes = [may_by_method(GET="assessments.view", POST="failures.record")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="failures_of_tree", summary="Failures of a tree", responses=listed(FailureShown()), tags=TAGS
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first; without paging, `limit` at most."""
        rows = queries.failures_of(inventory.tree(uid))[: self.query["limit"]]
        return paging.answer(request, FailureShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="failures_record",
        summary="Record a failure",
        description=CAUTION,
        request=FailureBody,
        responses={201: FailureShown, 200: FailureShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Record it: 201; the same uid and content again: 200; other content: 409. It may come late.

        It changes neither the tree's state nor its rating: a felled tree is recorded as removed, and one that still
        stands is inspected again.
        """
        tree = inventory.tree(uid)
        record = failure_record(self.read(FailureBody))
        made, created = services.record_failure(self.author, tree, record, calendar.today())
        shown = FailureShown(queries.failures_of(tree).get(pk=made.pk)).data
        return Response(shown, status=201 if created else 200)


class RateShown(serializers.Serializer[Any]):
    """Failures a tree-year of one likelihood category with the 95 % interval; null where no time was at risk."""

    category = serializers.ChoiceField(risk.FAILURE)
    trees = serializers.IntegerField()
    tree_years = serializers.FloatField()
    failures = serializers.IntegerField()
    storms = serializers.IntegerField(help_text="Storms with a failure of this category.")
    rate = Real(help_text="A tree-year.")
    low95 = Real()
    high95 = Real()


class ExposedShown(serializers.Serializer[Any]):
    """Trees of one category and zone in one storm."""

    storm = serializers.UUIDField()
    category = serializers.ChoiceField(risk.FAILURE)
    zone = serializers.CharField(help_text="Empty: in no zone.")
    gust_m_s = Real(help_text="The local gust maximum.")
    exposed = serializers.IntegerField()
    failures = serializers.IntegerField()


class CountedShown(serializers.Serializer[Any]):
    """How many failures are known, and how many of them count."""

    recorded = serializers.IntegerField()
    from_dissections = serializers.IntegerField(help_text="Known only from stems opened because of a storm.")
    counted = serializers.IntegerField(help_text="While a rating stood.")


class OutcomesShown(serializers.Serializer[Any]):
    """What became of the rated trees. `model` is null until there are enough failures and storms."""

    until = serializers.DateField()
    rates = RateShown(many=True)
    failures = serializers.IntegerField()
    storms_with_failures = serializers.IntegerField()
    storms = ExposedShown(many=True)
    model = serializers.DictField(allow_null=True)
    counted = CountedShown()
    notes = serializers.ListField(child=serializers.CharField())
    method = serializers.CharField()
    version = serializers.IntegerField()
    methods = serializers.ListField(child=serializers.CharField(), help_text="All that it rests on, with versions.")


class Outcomes(View):
    """What became of the rated trees."""

    permission_classes = [may("assessments.view")]

    @extend_schema(
        operation_id="outcomes",
        summary="Failures a tree-year by rated likelihood",
        responses=OutcomesShown,
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """By category only, with intervals that take storms as what varies, until there are enough failures and storms.

        Time counts from a rating until the first failure, treatment, removal, change of target or new rating.
        """
        return Response(OutcomesShown(outcomes.outcomes(calendar.today())).data)


urlpatterns = [
    path("storms", Storms.as_view(), name="storms"),
    path("storms/<uuid:uid>", OneStorm.as_view(), name="storm"),
    path("trees/<uuid:uid>/failures", OfTree.as_view(), name="tree-failures"),
    path("outcomes", Outcomes.as_view(), name="outcomes"),
]
