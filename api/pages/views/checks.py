"""A check of a file: the verdicts by reason and row by row, and what can be done next."""

from typing import Any
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse

from api.pages import downloads, load_forms, verdicts
from api.pages.access import may, page, reader
from api.pages.views import surveys
from inventory.formats import csv_writer
from inventory.intake import mapping as mappings
from inventory.intake import report, trial
from inventory.models import IntakeCheck, IntakeCheckRow, Tree
from inventory.problems import Missing
from workers import jobs
from workers.models import Job


def show(request: HttpRequest, job: Job) -> HttpResponse:
    """The page of a check that is done."""
    result = job.result or {}
    kept = _kept(job)
    reason, verdict = verdicts.asked(request)
    examples = {
        one["name"]: [(example["line"], example["detail"]) for example in one["examples"]] for one in result["checks"]
    }
    counted = verdicts.counts(result["counts"]["reasons"], examples)
    words = [("refused", "Refused"), ("warned", "Accepted with a warning"), ("accepted", "Accepted, with a note")]
    roles = {column["heading"]: column["role"] for column in job.params["mapping"]["column"]}
    values: dict[str, Any] = {
        "job": job,
        "check": result,
        "survey": survey_of(request, job),
        "gone": kept is None,
        "form": _load_form(job),
        "reasons": verdicts.reasons(counted, result["counts"]["rows"]),
        "chosen": next((one for one in counted if one.name == reason), None),
        "filter": verdicts.Filter(request.GET, counted, words),
        "page": verdicts.listed(request, _rows(kept, verdict, reason), roles) if kept else None,
        "download": reverse("check-rows", args=[job.uid]),
        "filtered": urlencode({"reason": reason, "verdict": verdict}),
        "running": may(request, "intake.run"),
        "mergeable": Tree.objects.exists(),
    }
    return render(request, "check.html", values)


def _kept(job: Job) -> IntakeCheck | None:
    """The rows of a check; None where they were dropped for newer ones."""
    try:
        return trial.check((job.result or {})["check"])
    except (KeyError, Missing):
        return None


def _rows(kept: IntakeCheck, verdict: str, reason: str) -> "QuerySet[IntakeCheckRow]":
    """The rows that are asked for; those that were only noted where nothing else is."""
    rows = trial.rows(kept, verdict, reason)
    return rows if verdict or reason else rows.exclude(verdict="accepted")


def survey_of(request: HttpRequest, job: Job) -> Job | None:
    """The survey from which the mapping came, or the latest of the same content."""
    person = reader(request)
    if person is None:
        return None
    done = jobs.visible_to(person).filter(kind="intake_survey", state="done").defer("result")
    asked = done.filter(uid=job.params["survey"]) if job.params.get("survey") else done.none()
    return asked.first() or done.filter(params__sha256=job.params.get("sha256")).order_by("-pk").first()


def _load_form(job: Job) -> load_forms.LoadForm:
    params = job.params
    text = mappings.write(mappings.from_dict(params["mapping"]))
    return load_forms.LoadForm(initial={"sha256": params["sha256"], "name": params["name"], "mapping": text})


@page("intake.view")
def rows(request: HttpRequest, uid: Any) -> HttpResponseBase:
    """The rows of which a check had something to say, with their reasons and cells, as CSV."""
    job = surveys.find(request, uid)
    kept = _kept(job) if job.kind == "intake_check" else None
    if kept is None:
        raise Missing("the rows of this check have been dropped for newer ones: check again")
    reason, verdict = verdicts.asked(request)
    pieces = report.write(_rows(kept, verdict, reason).iterator(chunk_size=2000), trial.columns(kept))
    return downloads.stream(f"check-{kept.pk}-rows.csv", pieces, csv_writer.MEDIA_TYPE)
