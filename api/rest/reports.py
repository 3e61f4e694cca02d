"""Reports on order items by the contractor, and the municipality's verdicts on them."""

import uuid

from django.http import HttpResponse
from django.urls import path
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http.permissions import may
from api.rest import order_shapes as shapes
from api.rest.orders import OrderView
from assessments.works import actions, queries
from assessments.works.records import ReportRecord, VerdictRecord


class Reports(OrderView):
    """Reports on one item."""

    permission_classes = [may("orders.report")]

    @extend_schema(
        operation_id="order_items_report",
        summary="Report an item done, or not possible",
        request=shapes.ReportBody,
        responses={201: shapes.Report, 200: shapes.Report},
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Report: 201; the same uid and content again: 200 with the same answer; other content: 409.

        May come late, twice and in any order. What was done changes the inventory in the same transaction.
        """
        item = queries.item_to_report(self.user, uid)
        record = ReportRecord(**self.read(shapes.ReportBody))
        fact, created = actions.report(self.author, item, record, now=timezone.now())
        return Response(shapes.Report(fact).data, status=201 if created else 200)


class Verifications(OrderView):
    """Verdicts on one item."""

    permission_classes = [may("orders.verify")]

    @extend_schema(
        operation_id="order_items_verify",
        summary="Accept reported work, return it, or agree that it stays undone",
        request=shapes.VerdictBody,
        responses={201: shapes.Verdict, 200: shapes.Verdict},
        tags=["orders"],
    )
    def post(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Decide: 201; the same uid and content again: 200 with the same answer; other content: 409.

        A returned item is open again for the contractor; what the inventory took over stays, and a check is asked.
        """
        item = queries.item_to_verify(self.user, uid)
        record = VerdictRecord(**self.read(shapes.VerdictBody))
        fact, created = actions.verify(self.author, item, record, now=timezone.now())
        return Response(shapes.Verdict(fact).data, status=201 if created else 200)


urlpatterns = [
    path("order-items/<uuid:uid>/reports", Reports.as_view(), name="order-item-reports"),
    path("order-items/<uuid:uid>/verifications", Verifications.as_view(), name="order-item-verifications"),
]
