"""The measuring of a stem: readings and crown typed in, computed and drawn before anything is kept."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.safestring import SafeString, mark_safe

from api.pages import calculation_answers
from api.pages.access import author, page
from api.pages.measure_forms import MeasureForm
from assessments import calculations, decay_growths, queries, sections, services, stem_loads
from assessments.calculations.stem_load import drawing
from assessments.methods import decay_growth
from assessments.models import Finding
from assessments.records import InspectionRecord
from assessments.report.drawing import decay_band, section
from assessments.suggestions import Suggestions
from inventory import calendar
from inventory import queries as inventory
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Missing, Refusal


@page("inspections.record")
def measure(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Ask for the measures; compute them and show the picture; keep them with a new inspection."""
    tree = inventory.tree(uid)
    if tree.state not in STANDING:
        raise Conflict(f"the tree is {tree.state}: there is nothing to measure")
    values = {"tree": tree, "advice": calculations.ADVICE}
    today, defects = calendar.today(), _defects(tree)
    if request.method != "POST":
        return render(request, "measure.html", values | {"form": MeasureForm(defects=defects, today=today)})
    form = MeasureForm(request.POST, defects=defects, today=today)
    asks_rows = any(name.startswith("more-") for name in request.POST)
    if asks_rows or not form.is_valid():
        return render(request, "measure.html", values | {"form": form}, status=200 if asks_rows else 400)
    try:
        record = form.record()
        if "keep" in request.POST:
            if _kept(record, tree):
                return redirect("tree", uid)
            services.record_inspection(author(request), tree, record, today)
            messages.success(request, "The measures were kept with a new inspection.")
            return redirect("tree", uid)
        found = services.preview(tree, record, today)
    except Refusal as refusal:
        form.tell(refusal)
        return render(request, "measure.html", values | {"form": form}, status=400)
    return render(request, "measure.html", values | {"form": form, "parts": _parts(record, found), "found": found})


def _kept(record: InspectionRecord, tree: Tree) -> bool:
    """Whether the same form was kept already: its findings are the tree's by now, so it would say another thing."""
    try:
        return queries.inspection(record.uid).tree_id == tree.pk
    except Missing:
        return False


def _defects(tree: Tree) -> list[Finding]:
    """The weaknesses that the last look at the tree, other than from the road, saw."""
    looks = [one for one in queries.inspections_of(tree) if one.level != "limited_visual"]
    return list(looks[0].findings.all()) if looks else []


def _parts(record: InspectionRecord, found: Suggestions) -> list[dict[str, Any]]:
    """What was computed, each part with its figures and its picture."""
    measured, result = record.sections[0].measured, found.sections[0].result
    parts = [_part("The section", result, section.draw(sections.drawn(measured, result), "section"))]
    if found.stem_load is not None and record.stem_load is not None:
        looked = [(measured, result)]
        draw = drawing(stem_loads.tree_of(record.stem_load.measured, found.stem_load.filled, looked))
        parts.append(_part("Wind load on the stem", found.stem_load.result, draw() if draw else ""))
    for place, one in enumerate(found.decay):
        answer = decay_growth.assess(decay_growths.as_computed(one.part.asked, one.result))
        picture = decay_band.draw(answer, f"decay-{place}") if one.banded else ""
        parts.append(_part("Decay over the coming years", one.result, picture))
    return parts


def _part(title: str, result: Any, picture: str) -> dict[str, Any]:
    # Made by our own drawing, which escapes every text in it.
    drawn: SafeString | str = mark_safe(picture) if picture else ""  # noqa: S308
    return {"title": title, "shown": calculation_answers.show(result), "picture": drawn}
