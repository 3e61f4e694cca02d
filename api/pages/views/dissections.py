"""Opened stems: those that ask to be opened, a dissection recorded cut by cut, and what it tells of the judgement."""

import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from api.http import problem
from api.pages import opened, paging
from api.pages.access import author, may, page
from api.pages.context import units_of
from api.pages.dissection_forms import CutForm, DissectionForm, last_height, take
from api.rest import dissection_bodies as bodies
from assessments import queries, services
from assessments.models import Dissection
from inventory import calendar
from inventory import queries as inventory
from inventory.attachments import queries as attachments
from inventory.attachments import services as attaching
from inventory.attachments.services import Photo
from inventory.models import Tree
from inventory.problems import Conflict, Invalid

MOST_ASKED: Final = 60
"""So many trees that ask to be opened are shown; all of them are in the interface."""


@page("assessments.view")
def dissections(request: HttpRequest) -> HttpResponse:
    """The stems that the city asks to be opened, and those that were."""
    values = {
        "asked": queries.dissection_requests(calendar.today())[:MOST_ASKED],
        "page": paging.by_key(queries.all_dissections(), paging.cursor(request), newest_first=True),
    }
    return render(request, "dissections.html", values)


@page("dissections.record")
def new(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of a dissection; a POST records it, with or without its cuts."""
    tree, today = inventory.tree(uid), calendar.today()
    form, status = DissectionForm(initial=_start(request, tree) | {"dissected_on": today}), 200
    if request.method == "POST":
        form = DissectionForm(request.POST)
        made = _recorded(request, tree, form) if form.is_valid() else None
        if made is not None:
            return redirect("dissection-cut" if not made.cuts.exists() else "dissection", made.uid)
        status = 400
    return render(request, "dissection_new.html", {"form": form, "tree": tree}, status=status)


def _start(request: HttpRequest, tree: Tree) -> dict[str, Any]:
    """What is known before: the day it was felled, and the reason for which the city asks."""
    return {"felled_on": tree.removed_on, "reason": request.GET.get("reason", "")}


def _recorded(request: HttpRequest, tree: Tree, form: DissectionForm) -> Dissection | None:
    """Record it; None where it was refused, which the form then says."""
    try:
        body = bodies.DissectionBody(data=form.sent())
        if not body.is_valid():
            raise Invalid.fields(problem.pointers(body.errors))
        record = bodies.dissection_record(dict(body.validated_data))
        made, _ = services.record_dissection(author(request), tree, record, calendar.today())
    except (Invalid, Conflict) as refusal:
        take(form, refusal)
        return None
    messages.success(request, "The dissection is recorded.")
    return made


@page("dissections.record")
def cut(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of the next cut; a POST adds it and offers the next."""
    found = queries.dissection(uid)
    form, status = CutForm(dissection=found), 200
    if request.method == "POST":
        form = CutForm(request.POST, request.FILES, dissection=found)
        if form.is_valid() and _cut_added(request, found, form):
            return redirect("dissection" if "last" in request.POST else "dissection-cut", uid)
        status = 400
    stem = opened.stem(found)
    values = {
        "form": form,
        "dissection": found,
        "tree": found.tree,
        "cuts": list(found.cuts.all()),
        "stem": stem.result if stem else None,
        "last_m": last_height(found),
    }
    return render(request, "dissection_cut.html", values, status=status)


def _cut_added(request: HttpRequest, found: Dissection, form: CutForm) -> bool:
    """Add it with its photo; False where the cut was refused, which the form then says."""
    try:
        body = bodies.LaterCutBody(data=form.sent())
        if not body.is_valid():
            raise Invalid.fields(problem.pointers(body.errors))
        made, _ = services.add_cut(author(request), found, bodies.cut_record(dict(body.validated_data)))
    except (Invalid, Conflict) as refusal:
        form.take(refusal)
        return False
    messages.success(request, f"The cut at {made.height_m:.2f} m is recorded.")
    if form.cleaned_data["photo"] and may(request, "photos.add"):
        _photographed(request, found.tree, made.uid, made.height_m, form)
    return True


def _photographed(request: HttpRequest, tree: Tree, cut_uid: uuid.UUID, height_m: float, form: CutForm) -> None:
    """Add the photo of a cut; the cut stays where the photo is refused, and the page says so."""
    photo = Photo(
        form.cleaned_data["photo"].read(),
        uid=uuid.uuid5(cut_uid, "photo"),
        about="dissection",
        about_uid=cut_uid,
        caption=f"Cut at {height_m:.2f} m",
    )
    try:
        attaching.add(author(request), tree, photo)
    except (Invalid, Conflict) as refusal:
        detail = refusal.errors[0].detail if refusal.errors else refusal.detail
        messages.error(request, f"The photo was not taken: {detail}. Add it on the page of the tree.")


@page("assessments.view")
def dissection(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """The stem rebuilt, predicted and found side by side, and what signs missed or invented."""
    found = queries.dissection(uid)
    truth, stem, system = opened.truth(found), opened.stem(found), units_of(request)
    told = truth.result if truth else None
    cuts = list(found.cuts.all())
    values: dict[str, Any] = {
        "dissection": found,
        "tree": found.tree,
        "stem": stem,
        "truth": truth,
        "told": told,
        "verdict": opened.VERDICTS[told["threshold"]["verdict"]] if told else None,
        "cracks": opened.cracks(told, system) if told else [],
        "decay": opened.decay(told, system) if told else [],
        "drawn": opened.drawn(found),
        "cuts": cuts,
        "photos": attachments.photos_about([found.uid, *(one.uid for one in cuts)]),
    }
    return render(request, "dissection.html", values)
