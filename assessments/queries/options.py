"""Options of an inspection and the decisions of a tree."""

import uuid
from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from assessments import options
from assessments.models import Decision, Inspection, Option, OptionComparison, RequiredCheck
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Missing


def options_of(inspection: Inspection) -> QuerySet[Option]:
    """The options of an inspection in the order of their proposal, dropped ones too; each with its estimates."""
    return options.with_estimates(Option.objects.filter(inspection=inspection)).order_by("pk")


def option(uid: uuid.UUID) -> Option:
    """One option with its estimates. Raises Missing."""
    found = options.with_estimates(Option.objects.filter(uid=uid)).first()
    if found is None:
        raise Missing(f"there is no option {uid}")
    return found


def option_comparison(inspection: Inspection) -> OptionComparison | None:
    """The options of an inspection side by side, as they were worked out last."""
    return OptionComparison.objects.filter(inspection=inspection).order_by("-pk").first()


def _whole() -> QuerySet[Decision]:
    related = ("tree", "inspection", "option", "supersedes", "superseded_by", "recorded_by")
    return Decision.objects.select_related(*related).prefetch_related("asked_checks")


def decisions_of(tree: Tree) -> QuerySet[Decision]:
    """The decisions of a tree with their checks, the newest first: the first one is in force."""
    return _whole().filter(tree=tree).order_by("-decided_on", "-pk")


def decision(uid: uuid.UUID) -> Decision:
    """One decision with its checks. Raises Missing."""
    found = _whole().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no decision {uid}")
    return found


def decision_in_force(tree: Tree) -> Decision | None:
    """The decision that no other supersedes, None where nothing was decided yet."""
    return _whole().filter(tree=tree, superseded_by=None).first()


def decisions(state: str, today: date) -> QuerySet[Decision]:
    """Decisions in force at standing trees: all (`in_force`), `open` ones or `lapsed` ones, in order of their keys.

    Open: no reported work has answered it since; which of them need work is told by the kind of the option. Lapsed:
    its conditions ended before today.
    """
    rows = _whole().filter(superseded_by=None, tree__state__in=STANDING).order_by("pk")
    if state == "lapsed":
        return rows.filter(ends_on__lt=today)
    if state == "open":
        worked = RequiredCheck.objects.filter(
            tree=OuterRef("tree"), source="order", asked_on__gte=OuterRef("decided_on")
        )
        return rows.filter(~Exists(worked))
    return rows


def open_decisions(today: date) -> QuerySet[Decision]:
    """What a program has to plan: decisions in force that no reported work has answered since."""
    return decisions("open", today)
