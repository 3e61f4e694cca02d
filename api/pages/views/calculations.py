"""Calculations: the list of kinds, and one page a kind with its form, its answer and its picture."""

import json

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils.safestring import mark_safe

from api.pages.access import page
from api.pages.calculation_answers import show
from api.pages.calculation_forms import CalculationForm, example
from assessments import calculations, queries
from inventory.problems import Invalid


@page("calculations.run")
def index(request: HttpRequest) -> HttpResponseBase:
    """What can be calculated."""
    values = {"kinds": calculations.KINDS.values(), "advice": calculations.ADVICE}
    return render(request, "calculations.html", values)


@page("calculations.run")
def calculate(request: HttpRequest, name: str) -> HttpResponseBase:
    """Ask, and answer on the same page: nothing is stored, so a POST may be repeated."""
    kind = calculations.kind(name)
    values = {"kind": kind, "advice": calculations.ADVICE}
    if request.method != "POST":
        form = CalculationForm(kind, initial=example(kind) if "example" in request.GET else None)
        return render(request, "calculation.html", values | {"form": form})
    form = CalculationForm(kind, request.POST)
    if form.is_valid():
        try:
            return _answer(request, form, values)
        except Invalid as refusal:
            form.tell(refusal)
    return render(request, "calculation.html", values | {"form": form}, status=400)


def _answer(request: HttpRequest, form: CalculationForm, values: dict[str, object]) -> HttpResponseBase:
    worked = calculations.run(form.kind, form.request, queries.policy_in_force())
    drawn = calculations.picture(worked)
    more = {
        "form": form,
        "shown": show(worked.answer),
        # Made by our own drawing, which escapes every text in it.
        "picture": mark_safe(drawn) if drawn else "",  # noqa: S308
        "asked": json.dumps(form.request, ensure_ascii=False),
    }
    return render(request, "calculation.html", values | more)
