"""The rate card by which options are priced: every version, the newest one in force."""

from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.fields import Body, Text
from api.http.idempotency import idempotent
from api.http.permissions import may_by_method
from api.http.view import View
from api.rest.shapes import listed
from assessments import queries, services

TAGS = ["options"]


class RateCardBody(Body):
    """A rate card to be adopted. `rate_card` has the members of the one in force; the service numbers it."""

    rate_card = serializers.DictField()
    why = Text()


class RateCardShown(serializers.Serializer[Any]):
    """A version of the rate card; version 0 is the shipped one, with invented figures, before any was adopted."""

    version = serializers.IntegerField()
    rate_card = serializers.DictField(source="data")
    why = serializers.CharField()
    adopted_by = serializers.CharField(source="adopted_by.name", default=None, allow_null=True)
    adopted_at = serializers.DateTimeField(allow_null=True)


class RateCards(View):
    """The rate cards."""

    permission_classes = [may_by_method(GET="assessments.view", POST="rate_card.adopt")]
    params = {"GET": (paging.LIMIT,)}

    @extend_schema(
        operation_id="rate_cards_list",
        summary="Rate cards, the newest first",
        responses=listed(RateCardShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """The first one is in force; without paging, `limit` at most."""
        rows = list(queries.rate_cards()[: self.query["limit"]]) or [queries.current_rate_card()]
        return paging.answer(request, RateCardShown(rows, many=True).data, None)

    @extend_schema(
        operation_id="rate_cards_adopt",
        summary="Adopt a rate card",
        request=RateCardBody,
        responses={201: RateCardShown},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Put a new version in force for options proposed from now on."""
        said = self.read(RateCardBody)
        card = services.adopt_rate_card(self.author, said["rate_card"], said["why"])
        card.refresh_from_db()
        return Response(RateCardShown(card).data, status=201)


urlpatterns = [path("rate-cards", RateCards.as_view(), name="rate-cards")]
