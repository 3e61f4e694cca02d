"""Work orders: made from chosen trees, issued, accepted, cancelled, read and exported."""

import uuid
from collections.abc import Iterator
from typing import Any, Final

from django.db.models import Case, IntegerField, Q, QuerySet, When
from django.http import HttpResponse, StreamingHttpResponse
from django.urls import path, reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, paging, params
from api.http.idempotency import idempotent
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest import order_shapes as shapes
from api.rest.shapes import listed
from assessments.works import actions, exports, queries, states
from assessments.works.models import WorkOrder
from assessments.works.records import ItemWish
from inventory import calendar
from inventory.formats import csv_writer, geojson_writer
from inventory.people.models import Organisation, User
from inventory.problems import Invalid

OPEN_EMERGENCY: Final = Q(emergency=True, state__in=("draft", "issued", "accepted"))


class OrderView(View):
    """The base of the views of orders: who asks is always signed in here."""

    @property
    def user(self) -> User:
        """Who asks. Only behind a permission that is not public."""
        person = self.person
        if person is None:
            raise RuntimeError("an order is never shown to the public")
        return person

    def shown(self, uid: uuid.UUID, status: int = 200) -> HttpResponse:
        """The order as it is now, with its ETag."""
        order = queries.order(self.user, uid)
        context = {"items": queries.items(order)}
        data = shapes.OrderFull(order, context=context).data
        return conditional.answer(self.request, order.version, data, status=status)


class Orders(OrderView):
    """All orders that one may see."""

    permission_classes = [may_by_method(GET="orders.view", POST="orders.make")]
    params = {
        "GET": (
            params.word("state", "State of the order.", states.ORDER_STATES),
            params.integer("contractor", "The organisation's id.", low=1),
            params.word("emergency", "`true`: emergency orders only; `false`: all others.", ("true", "false")),
            paging.LIMIT,
            paging.after(int, int),
        )
    }

    @extend_schema(
        operation_id="orders_list", summary="List the orders", responses=listed(shapes.Order()), tags=["orders"]
    )
    def get(self, request: Request) -> Response:
        """A page of orders: open emergencies first, then the newest. A contractor sees its own once issued."""
        page = paging.cut(self._rows(), self.query["limit"], lambda order: paging.encode(order.rank, order.pk))
        return paging.answer(request, [shapes.Order(order).data for order in page.rows], page.cursor)

    def _rows(self) -> list[Any]:
        rank = Case(When(OPEN_EMERGENCY, then=0), default=1, output_field=IntegerField())
        rows = self._filtered(queries.orders_visible_to(self.user)).annotate(rank=rank)
        if self.query["after"]:
            last_rank, pk = self.query["after"]
            rows = rows.filter(Q(rank__gt=last_rank) | Q(rank=last_rank, pk__lt=pk))
        return list(rows.order_by("rank", "-pk")[: self.query["limit"] + 1])

    def _filtered(self, rows: QuerySet[WorkOrder]) -> QuerySet[WorkOrder]:
        emergency = self.query["emergency"]
        equal = {
            "state": self.query["state"],
            "contractor_id": self.query["contractor"],
            "emergency": None if emergency is None else emergency == "true",
        }
        return rows.filter(**{name: value for name, value in equal.items() if value is not None})

    @extend_schema(
        operation_id="orders_make",
        summary="Draft an order",
        request=shapes.OrderBody,
        responses={201: shapes.OrderFull},
        tags=["orders"],
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Make a draft from chosen trees; reasons, dates and cautions follow from what is known of each tree."""
        body = self.read(shapes.OrderBody)
        order = actions.draft(
            self.author,
            _wishes(body),
            due_on=body["due_on"],
            today=calendar.today(),
            contractor=_contractor(body["contractor"]),
            instructions=body["instructions"],
        )
        response = self.shown(order.uid, status=201)
        response["Location"] = reverse("api:order", args=[order.uid])
        return response


class OneOrder(OrderView):
    """One order."""

    permission_classes = [may("orders.view")]

    @extend_schema(operation_id="orders_read", summary="One order", responses=shapes.OrderFull, tags=["orders"])
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """The order with its items, their reports and verdicts, and its ETag. Another contractor's is not found."""
        return self.shown(uid)


class _Step(OrderView):
    """The base of what is done to an order at a desk: guarded by If-Match, answered with the order."""

    matched = ("POST",)

    def read_order(self, uid: uuid.UUID) -> tuple[WorkOrder, int]:
        """The order and the version that the client read. Raises Missing, 428, Stale."""
        order = queries.order(self.user, uid)
        return order, conditional.matched_version(self.request, order.version)


class Items(_Step):
    """The items of a draft."""

    permission_classes = [may("orders.make")]

    @extend_schema(
        operation_id="orders_add_items",
        summary="Add items to a draft",
        request=shapes.ItemsBody,
        responses=shapes.OrderFull,
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Add items while it is a draft; an issued order is not edited."""
        order, version = self.read_order(uid)
        wishes = _wishes(self.read(shapes.ItemsBody))
        actions.add_items(self.author, order, wishes, version=version, today=calendar.today(), now=timezone.now())
        return self.shown(uid)


class Issue(_Step):
    """The issue of an order."""

    permission_classes = [may("orders.make")]

    @extend_schema(
        operation_id="orders_issue",
        summary="Issue an order",
        request=shapes.IssueBody,
        responses=shapes.OrderFull,
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Issue a draft to its contractor, who sees it from now on."""
        order, version = self.read_order(uid)
        to = _contractor(self.read(shapes.IssueBody)["contractor"])
        actions.issue(self.author, order, version=version, now=timezone.now(), contractor=to)
        return self.shown(uid)


class Accept(_Step):
    """The contractor's acceptance of an order."""

    permission_classes = [may("orders.accept")]

    @extend_schema(
        operation_id="orders_accept",
        summary="Accept an order",
        request=shapes.NothingBody,
        responses=shapes.OrderFull,
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Say that the work will be done."""
        order, version = self.read_order(uid)
        self.read(shapes.NothingBody)
        actions.accept(self.author, order, version=version, now=timezone.now())
        return self.shown(uid)


class Cancel(_Step):
    """The cancellation of an order."""

    permission_classes = [may("orders.make")]

    @extend_schema(
        operation_id="orders_cancel",
        summary="Cancel an order",
        request=shapes.CancelBody,
        responses=shapes.OrderFull,
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Cancel what is not done; what was reported done stays to be verified, what is reported later is decided."""
        order, version = self.read_order(uid)
        reason = self.read(shapes.CancelBody)["reason"]
        actions.cancel(self.author, order, reason=reason, version=version, now=timezone.now())
        return self.shown(uid)


class Csv(OrderView):
    """An order as CSV."""

    permission_classes = [may("orders.view")]

    @extend_schema(
        operation_id="orders_csv",
        summary="An order as CSV",
        responses={(200, "text/csv"): OpenApiTypes.STR},
        tags=["orders"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> StreamingHttpResponse:
        """One line an item (RFC 4180); a text that looks like a formula has an apostrophe before it."""
        order = queries.order(self.user, uid)
        return _file(exports.csv(order), csv_writer.MEDIA_TYPE, f"order-{order.number}.csv")


class GeoJson(OrderView):
    """An order as GeoJSON."""

    permission_classes = [may("orders.view")]

    @extend_schema(
        operation_id="orders_geojson",
        summary="An order as GeoJSON",
        responses={(200, geojson_writer.MEDIA_TYPE): OpenApiTypes.OBJECT},
        tags=["orders"],
    )
    def get(self, request: Request, uid: uuid.UUID) -> StreamingHttpResponse:
        """A feature collection (RFC 7946), one point an item."""
        order = queries.order(self.user, uid)
        return _file(exports.geojson(order), geojson_writer.MEDIA_TYPE, f"order-{order.number}.geojson")


def _file(content: Iterator[bytes], media_type: str, name: str) -> StreamingHttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return StreamingHttpResponse(content, content_type=media_type, headers=headers)


def _wishes(body: dict[str, Any]) -> list[ItemWish]:
    return [ItemWish(**item) for item in body["items"]]


def _contractor(organisation_id: int | None) -> Organisation | None:
    if organisation_id is None:
        return None
    found = Organisation.objects.filter(pk=organisation_id).first()
    if found is None:
        raise Invalid.field("#/contractor", f"there is no organisation {organisation_id}")
    return found


urlpatterns = [
    path("orders", Orders.as_view(), name="orders"),
    path("orders/<uuid:uid>", OneOrder.as_view(), name="order"),
    path("orders/<uuid:uid>/items", Items.as_view(), name="order-items"),
    path("orders/<uuid:uid>/issue", Issue.as_view(), name="order-issue"),
    path("orders/<uuid:uid>/accept", Accept.as_view(), name="order-accept"),
    path("orders/<uuid:uid>/cancel", Cancel.as_view(), name="order-cancel"),
    path("orders/<uuid:uid>/export.csv", Csv.as_view(), name="order-csv"),
    path("orders/<uuid:uid>/export.geojson", GeoJson.as_view(), name="order-geojson"),
]
