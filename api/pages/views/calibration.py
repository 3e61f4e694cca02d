"""What the opened stems taught: the calibration, the trees to look at again for it, and records for learning."""

from dataclasses import asdict
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from api.pages import learned, paging
from api.pages.access import author, may, page, reader
from assessments import queries, services
from assessments.methods import agreement as methods
from assessments.works.outcomes import outcomes as told
from inventory import calendar
from inventory.problems import Invalid, NotAllowed


@page("assessments.view")
def calibration(request: HttpRequest) -> HttpResponse:
    """The newest calibration, or the one asked for: its picture, its effects in words, its range."""
    versions = list(queries.calibrations()[:30])
    chosen = request.GET.get("version", "")
    if chosen and not (chosen.isascii() and chosen.isdigit() and len(chosen) < 9):
        raise Invalid.field("#/version", "must be a whole number")
    row = queries.calibration_of(int(chosen)) if chosen else next(iter(versions), None)
    agreed = may(request, "records.view")
    values: dict[str, Any] = {
        "row": row,
        "newest": row is not None and bool(versions) and row.pk == versions[0].pk,
        "versions": versions,
        "learned": learned.shown(row) if row else None,
        "review": queries.review_list().count() if row else 0,
        "agreement": queries.agreement() if agreed else None,
        "assessors": queries.assessors() if agreed else (),
        "agreement_method": f"{methods.METHOD}, version {methods.VERSION}",
    }
    return render(request, "calibration.html", values)


@require_POST
@page("calibration.run")
def fit(request: HttpRequest) -> HttpResponse:
    """Fit to all dissections there are."""
    made, created = services.calibrate(author(request))
    if created:
        messages.success(request, f"Calibration {made.version} rests on {made.trees} dissected trees.")
    else:
        messages.info(request, f"Nothing was learned since calibration {made.version}, which stays in force.")
    return redirect("calibration")


@page("assessments.view")
def review(request: HttpRequest) -> HttpResponse:
    """The standing trees whose suggested likelihood rises by the newest calibration; their ratings stay."""
    found = paging.by_key(queries.review_list(), paging.cursor(request))
    return render(request, "calibration_review.html", {"page": found})


@page("assessments.view")
def outcomes(request: HttpRequest) -> HttpResponse:
    """Failures a tree-year by rated likelihood, with their intervals."""
    return render(request, "outcomes.html", {"found": told(calendar.today())})


@page("due.view")
def record(request: HttpRequest, assessor: int) -> HttpResponse:
    """One assessor's own record: for itself and for foresters; set beside nobody's."""
    person = reader(request)
    own = person is not None and person.pk == assessor
    if not own and not may(request, "records.view"):
        raise NotAllowed("your role does not include this, and this record is not yours")
    user = person if own and person is not None else queries.assessor(assessor)
    values = {
        "assessor": user,
        "own": own,
        "record": asdict(queries.record_of_assessor(user)),
        "method": f"{methods.METHOD}, version {methods.VERSION}",
    }
    return render(request, "assessor_record.html", values)
