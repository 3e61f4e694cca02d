"""Storms and failures: when it blew how hard, and a failure of a tree recorded."""

import uuid
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render

from api.http import problem
from api.pages import paging
from api.pages.access import author, may, page, require
from api.pages.dissection_forms import take
from api.pages.storm_forms import FailureForm, StormForm
from api.rest import storms as rest
from assessments import queries, services
from assessments.models import Finding
from inventory import calendar
from inventory import queries as inventory
from inventory.models import Tree
from inventory.problems import Conflict, Invalid

MOST_STORMS: Final = 30
"""The newest storms offered for a failure; an older one is named over the interface."""
MOST_FINDINGS: Final = 60


@page("assessments.view")
def storms(request: HttpRequest) -> HttpResponseBase:
    """The storms, the newest first; a POST records one."""
    form, status = StormForm(), 200
    if request.method == "POST":
        require(request, "storms.record")
        form = StormForm(request.POST)
        if form.is_valid() and _storm_recorded(request, form):
            return redirect("storms")
        status = 400
    rows = paging.by_key(queries.storms(), paging.cursor(request), newest_first=True)
    values = {"form": form, "page": rows, "recording": may(request, "storms.record")}
    return render(request, "storms.html", values, status=status)


def _storm_recorded(request: HttpRequest, form: StormForm) -> bool:
    """Record it; False where it was refused, which the form then says."""
    try:
        record = rest.storm_record(_read(rest.StormBody, form.sent()))
        made, new = services.record_storm(author(request), record, calendar.today())
    except (Invalid, Conflict) as refusal:
        take(form, _of_form(refusal))
        return False
    asked = f" {made.checks_asked:,} trees are asked to be seen." if record.ask_checks and new else ""
    messages.success(request, f"The storm {made.name} is recorded.{asked}")
    return True


def _of_form(refusal: Invalid | Conflict) -> Invalid | Conflict:
    """The same refusal with the names of the form's fields: a gust by its place is the field of all gusts."""
    said = []
    for error in refusal.errors:
        first, *rest_of = error.pointer.removeprefix("#/").split("/")
        name = rest_of[-1] if first == "ask_checks" and rest_of else first
        said.append(type(error)(f"#/{name}", error.detail))
    return type(refusal)(refusal.detail, said)


def _read(body: Any, sent: dict[str, Any]) -> dict[str, Any]:
    """What the interface makes of it. Raises Invalid."""
    found = body(data=sent)
    if not found.is_valid():
        raise Invalid.fields(problem.pointers(found.errors))
    return dict(found.validated_data)


@page("failures.record")
def failure(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of a failure of a tree; a POST records it."""
    tree = inventory.tree(uid)
    choices: Any = {
        "storms": queries.storms()[:MOST_STORMS],
        "findings": Finding.objects.filter(inspection__tree=tree)
        .select_related("inspection")
        .order_by("-pk")[:MOST_FINDINGS],
    }
    form: forms.Form = FailureForm(**choices)
    status = 200
    if request.method == "POST":
        sent = FailureForm(request.POST, **choices)
        if sent.is_valid() and _failure_recorded(request, tree, sent):
            return redirect("tree", tree.uid)
        form, status = sent, 400
    return render(request, "failure_new.html", {"form": form, "tree": tree}, status=status)


def _failure_recorded(request: HttpRequest, tree: Tree, form: FailureForm) -> bool:
    """Record it; False where it was refused, which the form then says."""
    try:
        record = rest.failure_record(_read(rest.FailureBody, form.sent()))
        services.record_failure(author(request), tree, record, calendar.today())
    except (Invalid, Conflict) as refusal:
        take(form, refusal)
        return False
    messages.success(request, "The failure is recorded. Where the tree still stands, have it inspected again.")
    return True
