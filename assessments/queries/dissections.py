"""Dissections with their cuts and results, and the felled trees that ask for one."""

import hashlib
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from assessments import dissections, inputs
from assessments.models import Dissection, Inspection, Rating
from inventory.models import Tree
from inventory.problems import Missing

# A felled stem lies about for so long that it can be cut open. Project's choice.
ASKED_FOR: Final = timedelta(days=60)
WEAK: Final = ("probable", "imminent")


def dissections_of(tree: Tree) -> QuerySet[Dissection]:
    """The dissections of a tree with cuts and results, the newest first."""
    return dissections.whole(Dissection.objects.filter(tree=tree)).order_by("-dissected_on", "-pk")


def all_dissections() -> QuerySet[Dissection]:
    """Every dissection with cuts and results."""
    return dissections.whole(Dissection.objects.all())


def dissection(uid: uuid.UUID) -> Dissection:
    """One dissection with cuts and results. Raises Missing."""
    found = dissections.whole(Dissection.objects.filter(uid=uid)).first()
    if found is None:
        raise Missing(f"there is no dissection {uid}")
    return found


@dataclass(frozen=True)
class DissectionRequest:
    """A felled tree whose stem is worth opening, and why: `predicted_weakness` or `random_sample`."""

    tree: Tree
    reason: str


def dissection_requests(today: date) -> list[DissectionRequest]:
    """The trees felled lately and not dissected that ask for it, the newest removal first; one statement.

    Every one that was rated as weak, and a share, set by the policy, of those removed for other reasons: drawn by the
    tree's uid alone, so that nobody chooses which stem is opened.
    """
    share = inputs.policy_in_force()[1].dissection_share
    found = _felled(today - ASKED_FOR)
    return list(_asked(found, share))


def _asked(trees: QuerySet[Tree], share: float) -> Iterator[DissectionRequest]:
    for tree in trees:
        if tree.weak:  # type: ignore[attr-defined]
            yield DissectionRequest(tree, "predicted_weakness")
        elif draw(tree.uid) < share:
            yield DissectionRequest(tree, "random_sample")


def draw(uid: uuid.UUID) -> float:
    """A number from 0 to 1 that a tree's uid alone decides."""
    return int.from_bytes(hashlib.sha256(uid.bytes).digest()[:8], "big") / 2**64


def _felled(since: date) -> QuerySet[Tree]:
    rated = Inspection.objects.filter(tree=OuterRef("inspection__tree"), frame_years__isnull=False)
    newest = Subquery(rated.order_by("-inspected_at", "-uid").values("pk")[:1])
    weak = Rating.objects.filter(inspection__tree=OuterRef("pk"), failure__in=WEAK, inspection__pk=newest)
    felled = Tree.objects.filter(state__in=("stump", "removed"), removed_on__gte=since)
    opened = Dissection.objects.filter(tree=OuterRef("pk"))
    rows = felled.filter(~Exists(opened)).annotate(weak=Exists(weak)).select_related("species", "site", "zone")
    return rows.order_by("-removed_on", "pk")
