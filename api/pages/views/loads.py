"""Loads: a city's file is surveyed, checked and loaded by jobs; the report of a load; its undoing."""

import uuid
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models.fields.json import KeyTextTransform
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from api.pages import downloads, paging, verdicts
from api.pages.access import author, may, page, reader, require
from api.pages.load_forms import LoadForm, MappingForm, UploadForm
from inventory.formats import csv_writer
from inventory.intake import files, mapping, queries, report, saved
from inventory.models import IntakeLoad
from inventory.problems import Invalid
from workers import jobs
from workers.models import Job

LATEST, MOST_LISTED = 8, 50
# Ways in which a species is found of which a person should say whether they are right.
UNSETTLED = ("none", "genus", "corrected")


@page("intake.view")
def loads(request: HttpRequest) -> HttpResponseBase:
    """List the loads; a POST uploads a file and has it surveyed."""
    form, status = UploadForm(), 200
    if request.method == "POST":
        require(request, "intake.run")
        form = UploadForm(request.POST, request.FILES)
        job = _survey(request, form) if form.is_valid() else None
        if job is not None:
            return redirect("job", job)
        status = 400
    values = {
        "form": form if may(request, "intake.run") else None,
        "page": paging.by_key(queries.loads(), paging.cursor(request), newest_first=True),
        "under_way": _under_way(request),
        "mappings": saved.every()[:MOST_LISTED],
        "running": may(request, "intake.run"),
    }
    return render(request, "loads.html", values, status=status)


def _under_way(request: HttpRequest) -> list[Job]:
    """The latest surveys, checks and comparisons, from which somebody may go on."""
    person = reader(request)
    if person is None:
        return []
    wanted = ("intake_survey", "intake_check", "intake_merge_check")
    found = jobs.visible_to(person).filter(kind__in=wanted).select_related("asked_by").defer("result", "params")
    return list(found.annotate(file_name=KeyTextTransform("name", "params")).order_by("-pk")[:LATEST])


@page("intake.view")
def kept_mapping(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """A saved mapping as TOML."""
    return downloads.stream("mapping.toml", [saved.one(uid).mapping.encode()], "application/toml; charset=utf-8")


@require_POST
@page("intake.run")
def forget_mapping(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Forget a saved mapping; loads made by it keep theirs."""
    name = saved.one(uid).name
    saved.remove(author(request), uid)
    messages.success(request, f"The mapping {name} is forgotten.", extra_tags="good")
    return redirect("loads")


def _survey(request: HttpRequest, form: UploadForm) -> uuid.UUID | None:
    """Keep the file and ask for its survey; None where the file was refused, which the form then says."""
    upload = form.cleaned_data["file"]
    try:
        stored = files.store(upload.chunks())
    except Invalid as refusal:
        form.add_error("file", refusal.errors[0].detail if refusal.errors else refusal.detail)
        return None
    return jobs.ask(author(request), "intake_survey", {"sha256": stored.sha256, "name": upload.name}).uid


@require_POST
@page("intake.run")
def check(request: HttpRequest) -> HttpResponseBase:
    """Have the rows of a file judged under a mapping."""
    form = MappingForm(request.POST)
    if form.is_valid():
        return redirect("job", jobs.ask(author(request), "intake_check", form.params()).uid)
    return render(request, "load_mapping.html", {"form": form}, status=400)


@require_POST
@page("intake.run")
def run(request: HttpRequest) -> HttpResponseBase:
    """Have a file loaded under a mapping."""
    form = LoadForm(request.POST)
    if form.is_valid():
        return redirect("job", jobs.ask(author(request), "intake_load", form.params()).uid)
    return render(request, "load_mapping.html", {"form": form}, status=400)


@page("intake.view")
def load(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """The report of one load: what came in, and the rows that were refused or warned of, by reason."""
    found = queries.load(uid)
    return render(request, "load.html", _report(request, found))


def _report(request: HttpRequest, found: IntakeLoad) -> dict[str, Any]:
    reason, verdict = verdicts.asked(request)
    counted = queries.verdict_counts(found)
    words = [("refused", "Refused"), ("warned", "Accepted with a warning")]
    roles = {column.heading: column.role for column in mapping.parse(found.mapping).columns}
    return {
        "load": found,
        "reasons": verdicts.reasons(counted, found.counts.get("rows", 0)),
        "chosen": next((one for one in counted if one.name == reason), None),
        "filter": verdicts.Filter(request.GET, [one for one in counted if one.severity != "note"], words),
        "page": verdicts.listed(request, queries.verdicts(found, verdict, reason), roles),
        "download": reverse("load-rows", args=[found.uid]),
        "filtered": urlencode({"reason": reason, "verdict": verdict}),
        "running": may(request, "intake.run") and found.state == "loaded",
        "unsettled": any(found.counts.get("species", {}).get(how) for how in UNSETTLED),
    }


@page("intake.view")
def rows(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The refused and warned rows of a load, with their reasons and cells, as CSV."""
    found = queries.load(uid)
    reason, verdict = verdicts.asked(request)
    judged = queries.verdicts(found, verdict, reason).iterator(chunk_size=2000)
    pieces = report.write(judged, queries.columns(found))
    return downloads.stream(f"load-{found.pk}-rows.csv", pieces, csv_writer.MEDIA_TYPE)


@require_POST
@page("intake.run")
def undo(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Have a load taken back; where something builds on it, the job says what."""
    queries.load(uid)
    return redirect("job", jobs.ask(author(request), "intake_undo", {"load": str(uid)}).uid)
