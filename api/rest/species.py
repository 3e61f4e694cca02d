"""The species catalogue: open to everyone, searched by any of its names."""

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.permissions import PUBLIC, may
from api.http.view import View
from api.rest.shapes import SpeciesFull, listed, many
from inventory.models import Species
from inventory.species_search import matching


class SpeciesList(View):
    """Species and genera."""

    permission_classes = [may(PUBLIC)]
    params = {
        "GET": (
            params.text(
                "q",
                "Part of a botanical or common name or synonym; also misspelt. Best match first, one page.",
                longest=100,
                example="tilia",
            ),
            *paging.PAGING,
        )
    }

    @extend_schema(
        operation_id="species_list", summary="Search the species", responses=listed(SpeciesFull()), tags=["species"]
    )
    def get(self, request: Request) -> Response:
        """A page of the catalogue, or the best matches of a search."""
        if self.query["q"]:
            found = list(matching(self.query["q"])[: self.query["limit"]])
            return paging.answer(request, many(SpeciesFull, found), None)
        page = paging.page(Species.objects.prefetch_related("names"), self.query)
        return paging.answer(request, many(SpeciesFull, page.rows), page.cursor)


urlpatterns = [path("species", SpeciesList.as_view(), name="species")]
