"""The species catalogue: open to everyone, searched by any of its names."""

from django.contrib.postgres.search import TrigramSimilarity
from django.db.models import Case, F, Max, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Greatest
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import paging, params
from api.http.permissions import PUBLIC, may
from api.http.view import View
from api.rest.shapes import SpeciesFull, listed, many
from inventory.models import Species

ALIKE = 0.35
"""Trigram similarity from which a misspelt name still counts (our choice)."""


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
            found = list(_matching(self.query["q"])[: self.query["limit"]])
            return paging.answer(request, many(SpeciesFull, found), None)
        page = paging.page(Species.objects.prefetch_related("names"), self.query)
        return paging.answer(request, many(SpeciesFull, page.rows), page.cursor)


def _matching(words: str) -> QuerySet[Species]:
    """By name, names that begin with the words first, then those that contain them, then those alike."""
    likeness = Greatest(
        TrigramSimilarity("botanical_name", words),
        TrigramSimilarity("common_en", words),
        Coalesce(Max(TrigramSimilarity("names__name", words)), 0.0),
    )
    begins = Q(botanical_name__istartswith=words) | Q(common_en__istartswith=words)
    holds = Q(botanical_name__icontains=words) | Q(common_en__icontains=words)
    named = Species.objects.filter(names__name__icontains=words).values("pk")
    return (
        Species.objects.annotate(likeness=likeness)
        .annotate(
            place=Case(When(begins, then=Value(0)), When(holds | Q(pk__in=named), then=Value(1)), default=Value(2))
        )
        .filter(Q(place__lt=2) | Q(likeness__gte=ALIKE))
        .order_by("place", F("likeness").desc(), "botanical_name")
        .prefetch_related("names")
    )


urlpatterns = [path("species", SpeciesList.as_view(), name="species")]
