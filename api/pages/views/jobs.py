"""One job: how far it is, what came of it, and the next step that follows from it."""

import uuid
from collections.abc import Callable
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from api.pages.access import author, may, page, require
from api.pages.views import checks, merges, surveys
from inventory.problems import Missing, Refusal
from workers import jobs
from workers.models import Job


@page()
def job(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Show a job to who asked for it and to who may see all; a finished load leads to its report."""
    found = surveys.find(request, uid)
    if found.state == "done" and found.result and found.kind in _RESULTS:
        return _RESULTS[found.kind](request, found)
    again = found.kind == "intake_merge_check" and found.state == "failed" and not found.params.get("anyway")
    values: dict[str, Any] = {
        "job": found,
        "stoppable": not found.finished_at and may(request, "jobs.cancel"),
        "comparable": again and may(request, "intake.run"),
        "survey": checks.survey_of(request, found) if found.state == "failed" and "mapping" in found.params else None,
    }
    return render(request, "job.html", values)


def _to_load(request: HttpRequest, job: Job) -> HttpResponseBase:
    return redirect("load", (job.result or {})["load"])


def _to_merge(request: HttpRequest, job: Job) -> HttpResponseBase:
    return redirect("merge", (job.result or {})["merge"])


# What shows the result of a job of each kind; of other kinds the result is listed as it is.
_RESULTS: Final[dict[str, Callable[[HttpRequest, Job], HttpResponseBase]]] = {
    "intake_survey": surveys.show,
    "intake_check": checks.show,
    "intake_load": _to_load,
    "intake_undo": _to_load,
    "intake_merge_check": _to_merge,
    "intake_merge": _to_merge,
}


@require_POST
@page("intake.run")
def anyway(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Compare a file with the inventory although hardly anything of it was found here."""
    found = surveys.find(request, uid)
    if found.kind != "intake_merge_check":
        raise Missing(f"there is no comparison {uid}")
    return merges.anyway(request, found)


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
