"""The written report of an inspection: looked at as a draft, issued, with the editions that there are."""

import uuid
from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render

from api.pages.access import author, page
from api.pages.context import units_of
from api.pages.record_forms import ReportForm
from assessments import queries as assessed
from assessments.report.document import queries, services
from inventory import calendar
from inventory.problems import Invalid

_USUAL_DAYS = 365


@page("reports.issue")
def report(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of a report on an inspection; a POST issues it."""
    inspection = assessed.inspection(uid)
    today = calendar.today()
    form, status = ReportForm(initial={"valid_until": today + timedelta(_USUAL_DAYS), "units": units_of(request)}), 200
    if request.method == "POST":
        form = ReportForm(request.POST)
        if form.is_valid() and _issued(request, uid, form):
            return redirect("tree", inspection.tree.uid)
        status = 400
    values = {
        "form": form,
        "inspection": inspection,
        "tree": inspection.tree,
        "editions": queries.reports_of(inspection.tree).filter(inspection=inspection),
    }
    return render(request, "report_new.html", values, status=status)


def _issued(request: HttpRequest, uid: uuid.UUID, form: ReportForm) -> bool:
    """Issue it; False where it was refused, which the form then says at its fields."""
    try:
        made, _ = services.issue(author(request), uid, form.record(), calendar.today())
    except Invalid as refusal:
        for error in refusal.errors:
            name = error.pointer.removeprefix("#/")
            form.add_error(name if name in form.fields else None, error.detail)
        return False
    messages.success(request, f"Report {made.number}, edition {made.edition}, was issued.")
    return True
