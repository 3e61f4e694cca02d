"""One job: how far it is, what came of it, and the next step that follows from it."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from api.pages import load_forms
from api.pages.access import author, may, page, require
from api.pages.views import surveys
from inventory.intake import mapping as mappings
from inventory.problems import Refusal
from workers import jobs
from workers.models import Job


@page()
def job(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Show a job to who asked for it and to who may see all; a finished load leads to its report."""
    found = surveys.find(request, uid)
    if found.kind == "intake_load" and found.state == "done" and found.result:
        return redirect("load", found.result["load"])
    if found.kind == "intake_survey" and found.state == "done" and found.result:
        return surveys.show(request, found)
    values: dict[str, Any] = {"job": found, "stoppable": not found.finished_at and may(request, "jobs.cancel")}
    if found.kind == "intake_check" and found.state == "done" and found.result:
        values |= {"check": found.result, "form": _load_form(found)}
    return render(request, "job.html", values)


def _load_form(found: Job) -> load_forms.LoadForm:
    params = found.params
    text = mappings.write(mappings.from_dict(params["mapping"]))
    return load_forms.LoadForm(initial={"sha256": params["sha256"], "name": params["name"], "mapping": text})


@require_POST
@page()
def cancel(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Ask a job to stop."""
    found = surveys.find(request, uid)
    require(request, "jobs.cancel")
    try:
        jobs.cancel(author(request), found.uid)
    except Refusal as refusal:
        messages.error(request, refusal.detail, extra_tags="warn")
    else:
        messages.success(request, "The job was asked to stop.")
    return redirect("job", uid)
