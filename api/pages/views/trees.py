"""The list of trees and the page of one tree."""

import uuid
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from api.pages import history, paging, sketch
from api.pages.access import may, page, reader
from api.pages.context import units_of
from api.pages.filters import TreeFilter
from api.rest import scope
from assessments import queries as assessed
from assessments.queries import priorities
from assessments.report.document import queries as written
from assessments.works import queries as works
from assessments.works.models import OrderItem
from inventory import calendar, queries
from inventory.attachments import queries as attachments
from inventory.models import Tree
from inventory.problems import Missing

MOST_PHOTOS: Final = 60
"""The newest of a tree on its page; all of them are in the interface."""


@page()
def trees(request: HttpRequest) -> HttpResponse:
    """List the trees, narrowed by the filter; who may not see assessments gets the list without risk and dates."""
    judged = may(request, "assessments.view")
    chosen = TreeFilter(request.GET, units=units_of(request), with_risk=judged)
    found = chosen.narrow(queries.trees())
    if judged:
        found = found.select_related("priority")
    values = {"form": chosen, "page": paging.by_key(found, paging.cursor(request)), "judged": judged}
    return render(request, "trees.html", values)


@page()
def tree(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Show one tree: what stands there for everyone, what was found and concluded to those who may see it."""
    found = queries.tree(uid)
    inside = found.pk in scope.full_view(reader(request), [found])
    values: dict[str, Any] = {
        "tree": found,
        "inside": inside,
        "judged": may(request, "assessments.view"),
        "sketch": sketch.of_tree(found, units_of(request)),
        "measurements": found.measurements.select_related("measured_by").order_by("-measured_on", "-pk"),
        "supports": found.supports.order_by("-installed_on", "-pk"),
    }
    if inside:
        values["photos"] = attachments.photos_of(found)[:MOST_PHOTOS]
    if may(request, "assessments.view"):
        values |= _judgement(found)
    person = reader(request)
    if person is not None and may(request, "orders.view"):
        orders = works.orders_visible_to(person)
        items = OrderItem.objects.filter(tree=found, order__in=orders.values("pk"))
        values["orders"] = items.select_related("order").order_by("-pk")
    if may(request, "history.view"):
        values["acts"] = history.of_tree(found, units_of(request))
    return render(request, "tree.html", values)


def _judgement(found: Tree) -> dict[str, Any]:
    """What was found and concluded: every part in a fixed number of queries."""
    inspections = list(assessed.inspections_of(found))
    emergency = next((one for one in assessed.open_emergencies().filter(tree=found)[:1]), None)
    return {
        "inspections": inspections,
        "rated": next((one for one in inspections if one.frame_years is not None), None),
        "defects": assessed.defect_history(found),
        "checks": [check for check in assessed.checks_of(found) if check.closed_on is None],
        "emergency": next((one for one in inspections if emergency and one.pk == emergency.pk), None),
        "reports": written.reports_of(found),
        "decisions": assessed.decisions_of(found),
        "dissections": assessed.dissections_of(found),
        "failures": assessed.failures_of(found),
        "priority": _priority(found),
        "harm_unit": priorities.HARM_UNIT,
        "priority_method": priorities.METHOD,
    }


def _priority(found: Tree) -> assessed.PriorityShown | None:
    try:
        return assessed.priority_of(found, calendar.today())
    except Missing:
        return None
