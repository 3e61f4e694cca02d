"""The options of an inspection: proposed, set side by side, edited, added, dropped; none is preselected."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from api.pages import choices
from api.pages.access import author, page
from api.pages.option_forms import AccessForm, DropForm, NewOptionForm, OptionEditForm
from api.pages.order_forms import take
from assessments import queries, services
from assessments.models import Inspection, Option
from inventory import calendar
from inventory import queries as inventory
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Invalid, Refusal, Stale


@page("assessments.view")
def options(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """The options side by side with their picture, each in full, and what a further diagnosis is worth."""
    inspection = queries.inspection(uid)
    comparison = queries.option_comparison(inspection)
    found = [choices.shown(row, comparison, inspection) for row in queries.options_of(inspection)]
    table = [one for one in found if not one.option.dropped_why]
    result = comparison.result if comparison else {}
    currency = str(result.get("currency") or inventory.municipality().currency)
    study = result.get("information")
    first = next((one.said for one in table if one.said), {})
    values: dict[str, Any] = {
        **_about(inspection),
        "rows": table,
        "dropped": [one for one in found if one.option.dropped_why],
        "comparison": comparison,
        "currency": currency,
        "years": first.get("horizon_years"),
        "discount": first.get("discount_rate_percent"),
        "picture": choices.picture(table, currency),
        "study": study,
        "verdict": choices.VERDICTS[study["verdict"]] if study else "",
        "rates": choices.rates(study) if study else (),
        "access": AccessForm(initial={"access": first.get("access", "ordinary")}),
        "decision": queries.decision_in_force(inspection.tree),
    }
    return render(request, "options.html", values)


def _about(inspection: Inspection) -> dict[str, Any]:
    standing = inspection.tree.state in STANDING
    return {"inspection": inspection, "tree": inspection.tree, "standing": standing}


@require_POST
@page("options.edit")
def propose(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Propose what the findings allow and work everything out anew."""
    form = AccessForm(request.POST)
    access = form.cleaned_data["access"] if form.is_valid() else ""
    made = services.propose_options(author(request), queries.inspection(uid), calendar.today(), access)
    messages.success(request, f"{len(made)} options are worked out by the rate card in force. None is chosen.")
    return redirect("options", uid)


@page("options.edit")
def new(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of another option; a POST adds it."""
    inspection = queries.inspection(uid)
    given: dict[str, Any] = {"inspection": inspection, "currency": inventory.municipality().currency}
    form, status = NewOptionForm(**given), 200
    if request.method == "POST":
        form = NewOptionForm(request.POST, **given)
        if form.is_valid() and _added(request, inspection, form):
            return redirect("options", uid)
        status = 400
    return render(request, "option_new.html", {**_about(inspection), "form": form}, status=status)


def _added(request: HttpRequest, inspection: Inspection, form: NewOptionForm) -> bool:
    try:
        services.add_option(author(request), inspection, form.record(), calendar.today())
    except (Invalid, Conflict) as refusal:
        form.take(refusal)
        return False
    messages.success(request, "The option was added.")
    return True


@page("options.edit")
def edit(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """What the arborist states of an option beside what the method says; a POST states it."""
    option = queries.option(uid)
    inspection = queries.inspection(option.inspection.uid)
    given: dict[str, Any] = {
        "option": option,
        "ratings": list(inspection.ratings.all()),
        "currency": inventory.municipality().currency,
    }
    form, status = OptionEditForm(**given), 200
    if request.method == "POST":
        form = OptionEditForm(request.POST, **given)
        if form.is_valid() and _edited(request, option, form.changes(), form.cleaned_data["version"], form):
            messages.success(request, "What you stated stands beside what the method says.")
            return redirect("options", inspection.uid)
        status = 400
    comparison = queries.option_comparison(inspection)
    values = {
        **_about(inspection),
        "form": form,
        "row": choices.shown(option, comparison, inspection),
        "drop": DropForm(initial={"version": option.version}),
    }
    return render(request, "option_edit.html", values, status=status)


def _edited(request: HttpRequest, option: Option, changes: dict[str, Any], version: int, form: Any) -> bool:
    try:
        services.edit_option(author(request), option, changes, version=version, today=calendar.today())
    except (Invalid, Conflict, Stale) as refusal:
        _say(form, refusal)
        return False
    return True


def _say(form: Any, refusal: Refusal) -> None:
    if isinstance(refusal, Stale):
        form.add_error(None, "Somebody else changed this option since you opened it. Open it again to see how.")
    else:
        take(form, refusal)


@require_POST
@page("options.edit")
def drop(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Take an option off the table with a reason, or, with the button for that, back onto it."""
    option = queries.option(uid)
    form = DropForm(request.POST)
    back = "back" in request.POST
    if not back and not form.is_valid():
        messages.error(request, "Say why the option is dropped.")
        return redirect("option-edit", uid)
    why = "" if back else form.cleaned_data["dropped_why"]
    version = option.version if back else form.cleaned_data["version"]
    services.edit_option(author(request), option, {"dropped_why": why}, version=version, today=calendar.today())
    messages.success(request, "The option is on the table again." if back else "The option was dropped.")
    return redirect("options", option.inspection.uid)
