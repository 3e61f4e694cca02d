"""Calibrations, the trees they ask to look at again, the agreement of assessors and each one's own record."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Final

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from assessments import truths
from assessments.methods import agreement as methods
from assessments.methods import calibration
from assessments.methods.risk import FAILURE
from assessments.models import Calibration, DissectionResult, Inspection, Rating, ReviewItem
from inventory.models.tree import STANDING
from inventory.people.models import User
from inventory.problems import Missing

# Two looks at a tree this close are taken as looks at the same state of it. Project's choice.
SAME_STATE: Final = timedelta(days=365)


def calibrations() -> QuerySet[Calibration]:
    """Every version, the newest first; that one corrects suggestions."""
    return Calibration.objects.select_related("asked_by").order_by("-version")


def calibration_of(version: int) -> Calibration:
    """One version. Raises Missing."""
    found = calibrations().filter(version=version).first()
    if found is None:
        raise Missing(f"there is no calibration {version}")
    return found


def learned_by(one: Calibration) -> list[calibration.Row]:
    """What the dissections of a calibration teach as they are computed now."""
    newest = DissectionResult.objects.filter(method=truths.METHOD, dissection__uid__in=one.dissections)
    in_order = newest.order_by("dissection", "-pk").distinct("dissection")
    taught = in_order.values_list(f"result__{truths.LEARNED}", flat=True)
    return [calibration.Row(**row) for rows in taught for row in rows]


def review_list() -> QuerySet[ReviewItem]:
    """The ratings whose suggestion the newest calibration raises, at standing trees that nobody rated since."""
    newest = Calibration.objects.order_by("-version").values("version")[:1]
    later = Inspection.objects.filter(
        Q(inspected_at__gt=OuterRef("inspection__inspected_at"))
        | Q(inspected_at=OuterRef("inspection__inspected_at"), uid__gt=OuterRef("inspection__uid")),
        tree=OuterRef("tree"),
        frame_years__isnull=False,
    )
    rows = ReviewItem.objects.filter(~Exists(later), calibration__in=newest, tree__state__in=STANDING)
    return rows.select_related("tree__species", "inspection", "rating__target", "calibration").order_by("pk")


def agreement() -> methods.Agreement:
    """How far assessors agree on the likelihood of failure of the same tree in the same state; nobody is named."""
    return methods.agreement(list(_rated()))


def _rated() -> Iterator[methods.Rated]:
    """The worst rating of each look, by tree and state: looks within a year of the first one of a state.

    Only of trees that two people or more have rated, which are few in a city of a million.
    """
    by_whom = Inspection.objects.filter(frame_years__isnull=False, inspector__isnull=False).values("tree").order_by()
    shared = by_whom.annotate(people=Count("inspector", distinct=True)).filter(people__gt=1).values("tree")
    rows = (
        Rating.objects.filter(inspection__inspector__isnull=False, inspection__tree__in=shared)
        .order_by("inspection__tree", "inspection__inspected_at", "inspection")
        .values_list("inspection__tree", "inspection__inspected_on", "inspection", "inspection__inspector", "failure")
    )
    looks: dict[int, tuple[int, Any, int, str]] = {}
    for tree, day, inspection, inspector, failure in rows.iterator():
        before = looks[inspection][3] if inspection in looks else FAILURE[0]
        looks[inspection] = (tree, day, inspector or 0, max(before, failure, key=FAILURE.index))
    begun: dict[int, Any] = {}
    for tree, day, inspector, failure in looks.values():
        if tree not in begun or day - begun[tree] > SAME_STATE:
            begun[tree] = day
        yield methods.Rated(str(inspector), f"{tree}/{begun[tree].isoformat()}", failure)


def record_of_assessor(user: User) -> methods.Record:
    """What the opened stems say of one assessor's judgements: for learning, compared with nobody's."""
    found = methods.records(list(_judged(user)))
    return found[0] if found else methods.Record(
        str(user.pk), 0, 0, None, None, None, None, None, None, "No tree that this person judged was opened yet."
    )  # fmt: skip


def _judged(user: User) -> Iterator[methods.Judged]:
    newest = DissectionResult.objects.filter(method=truths.METHOD, inspection__inspector=user)
    in_order = newest.order_by("dissection", "-pk").distinct("dissection")
    for tree, heights in in_order.values_list("dissection__tree", "result__heights"):
        for one in heights:
            told = one["t_over_r"]
            if told["predicted"] is not None:
                yield methods.Judged(
                    assessor=str(user.pk),
                    tree=str(tree),
                    predicted=told["predicted"]["best"],
                    found=told["found"],
                    low=told["predicted"]["low"],
                    high=told["predicted"]["high"],
                    chance=one["crossed"]["chance"],
                    crossed=one["crossed"]["found"],
                )


def assessors() -> QuerySet[User]:
    """Who has rated trees, by name: this is no ranking."""
    rated = Inspection.objects.filter(inspector=OuterRef("pk"), frame_years__isnull=False)
    return User.objects.filter(Exists(rated)).order_by("name", "pk")


def assessor(pk: int) -> User:
    """One person who has rated trees. Raises Missing."""
    found = assessors().filter(pk=pk).first()
    if found is None:
        raise Missing("nobody of that number has rated a tree")
    return found
