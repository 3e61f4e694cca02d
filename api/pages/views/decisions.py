"""The decision for an option: who, when, why, under which conditions; and the decisions that are in force."""

import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from api.pages import choices, paging
from api.pages.access import author, page
from api.pages.option_forms import DecisionForm
from assessments import options as rules
from assessments import queries, services
from assessments.models import Option
from inventory import calendar
from inventory import queries as inventory
from inventory.problems import Conflict, Invalid

STATES: Final = {
    "open": "Open: no work was reported since",
    "lapsed": "Lapsed: to be decided anew",
    "in_force": "All in force",
}


@page("assessments.view")
def decisions(request: HttpRequest) -> HttpResponse:
    """The decisions in force at standing trees: those that wait for work, those that have lapsed, or all."""
    state = request.GET.get("state", "open")
    if state not in STATES:
        raise Invalid.field("#/state", f"must be one of {', '.join(STATES)}")
    found = paging.by_key(queries.decisions(state, calendar.today()), paging.cursor(request))
    return render(request, "decisions.html", {"page": found, "state": state, "states": STATES.items()})


@page("decisions.record")
def new(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of a decision for an option; a POST records it."""
    option = queries.option(uid)
    inspection = queries.inspection(option.inspection.uid)
    form, status = DecisionForm(option=option, today=calendar.today()), 200
    if request.method == "POST":
        form = DecisionForm(request.POST, option=option, today=calendar.today())
        if form.whole() and _taken(request, option, form):
            return redirect("tree", inspection.tree.uid)
        status = 400
    values: dict[str, Any] = {
        "form": form,
        "row": choices.shown(option, queries.option_comparison(inspection), inspection),
        "inspection": inspection,
        "tree": inspection.tree,
        "stays": rules.residual_risk(option),
        "must_sign": rules.must_be_signed(option),
        "before": queries.decision_in_force(inspection.tree),
        "currency": inventory.municipality().currency,
    }
    return render(request, "decision_new.html", values, status=status)


def _taken(request: HttpRequest, option: Option, form: DecisionForm) -> bool:
    """Record it; False where it was refused, which the form then says."""
    try:
        services.take_decision(author(request), option, form.record(), calendar.today())
    except (Invalid, Conflict) as refusal:
        form.take(refusal)
        return False
    messages.success(request, "The decision is recorded, with the checks that it commits to.")
    return True
