"""The contractors that an order can go to."""

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import listed
from inventory.people.models import Organisation


class ContractorShown(serializers.Serializer[Any]):
    """An organisation that takes orders."""

    id = serializers.IntegerField()
    name = serializers.CharField()


class Contractors(View):
    """All contractors at work now."""

    permission_classes = [may("orders.make")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="contractors_list",
        summary="List the contractors",
        responses=listed(ContractorShown()),
        tags=["orders"],
    )
    def get(self, request: Request) -> Response:
        """A page of contractors by their key."""
        page = paging.page(Organisation.objects.filter(kind="contractor", ended_on=None), self.query)
        return paging.answer(request, ContractorShown(page.rows, many=True).data, page.cursor)


urlpatterns = [path("contractors", Contractors.as_view(), name="contractors")]
