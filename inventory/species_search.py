"""Finds species by any of their names, also misspelt."""

from typing import Final

from django.contrib.postgres.search import TrigramSimilarity
from django.db.models import Case, F, Max, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Greatest

from inventory.models import Species

ALIKE: Final = 0.35
"""Trigram similarity from which a misspelt name still counts (our choice)."""


def matching(words: str) -> QuerySet[Species]:
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
