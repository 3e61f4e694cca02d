"""Storms with their gusts, and the failures of a tree with the opened stems that belong to them."""

import uuid
from datetime import timedelta
from typing import Final

from django.db.models import Count, F, OuterRef, Prefetch, QuerySet, Subquery

from assessments.models import Dissection, Failure, Storm, StormGust
from inventory.models import Tree
from inventory.problems import Missing

# A stem that failed in a storm is felled and opened within this time after it. Project's choice.
OPENED_WITHIN: Final = timedelta(days=365)


def storms() -> QuerySet[Storm]:
    """Every storm with its gusts by zone and how many failures name it (`failure_count`), the newest first."""
    gusts = StormGust.objects.select_related("zone").defer("zone__area").order_by("zone__code")
    rows = Storm.objects.select_related("recorded_by").annotate(failure_count=Count("failures"))
    return rows.prefetch_related(Prefetch("gusts", gusts)).order_by("-began_on", "-pk")


def storm(uid: uuid.UUID) -> Storm:
    """One storm. Raises Missing."""
    found = storms().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no storm {uid}")
    return found


def failures_of(tree: Tree) -> QuerySet[Failure]:
    """The failures of a tree, the newest first; `dissection`: uid of the stem opened because of it."""
    opened = Dissection.objects.filter(
        tree=OuterRef("tree"),
        reason="storm_failure",
        felled_on__gte=OuterRef("happened_from"),
        felled_on__lte=OuterRef("happened_to") + OPENED_WITHIN,
    )
    rows = Failure.objects.filter(tree=tree).annotate(dissection=Subquery(opened.order_by("pk").values("uid")[:1]))
    related = rows.select_related("tree", "storm", "finding", "inspection", "recorded_by")
    return related.order_by(F("happened_from").desc(), "-pk")
