"""The due list and the queue of trees to be seen."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from api.http import paging
from api.pages import words
from api.pages.access import may, page
from api.pages.filters import ANY
from api.pages.order_forms import DateInput
from assessments import queries
from assessments.methods import risk
from inventory import calendar
from inventory.models import Zone
from inventory.problems import Invalid

SIZE = 50
KINDS = (("all", "Everything due"), ("act", "Work to be done"), ("inspect", "Inspections"))


class ZoneFilter(forms.Form):
    """Which zone to list."""

    zone = forms.ChoiceField(label="Zone", required=False)

    def __init__(self, data: Any) -> None:
        super().__init__(data, auto_id="filter_%s")
        self._zones = {code: (pk, name) for pk, code, name in Zone.objects.values_list("pk", "code", "name")}
        choices = [ANY, *((code, f"{code} {name}") for code, (_, name) in self._zones.items())]
        self.fields["zone"] = forms.ChoiceField(label="Zone", required=False, choices=choices)

    def zone_id(self) -> int | None:
        """The key of the zone chosen."""
        code = self.cleaned_data["zone"]
        return self._zones[code][0] if code else None


class DueFilter(ZoneFilter):
    """Which due work to list."""

    kind = forms.ChoiceField(label="What", required=False, choices=KINDS)
    risk = forms.ChoiceField(
        label="Risk",
        required=False,
        choices=[ANY, *((word, words.say(word)) for word in reversed(risk.RISK))],
    )
    before = forms.DateField(label="Due on or before", required=False, widget=DateInput())
    field_order = ("kind", "zone", "risk", "before")


@page("due.view")
def due(request: HttpRequest) -> HttpResponse:
    """List what is due, the most urgent first; who makes orders may choose trees for one."""
    form = DueFilter(request.GET)
    found = None
    if form.is_valid():
        wanted = form.cleaned_data
        found = queries.due_list(
            calendar.today(),
            kind=wanted["kind"] or "all",
            zone=form.zone_id(),
            risk_class=wanted["risk"] or None,
            before=wanted["before"],
            limit=SIZE,
            after=_after(request, int, int, int, float, int),
        )
    values = _values(request, form, found) | {"ordering": may(request, "orders.make")}
    return render(request, "due.html", values)


@page("due.view")
def unseen(request: HttpRequest) -> HttpResponse:
    """List the trees that were never rated or are overdue to be seen, by occupancy x size x time unseen."""
    form = ZoneFilter(request.GET)
    found = None
    if form.is_valid():
        after = _after(request, float, int)
        found = queries.unseen_queue(calendar.today(), zone=form.zone_id(), limit=SIZE, after=after)
    return render(request, "unseen.html", _values(request, form, found))


def _after(request: HttpRequest, *kinds: type) -> list[Any] | None:
    text = request.GET.get("after", "")
    try:
        return paging.decode(text, *kinds) if text else None
    except ValueError as error:
        raise Invalid.field("?after", str(error)) from error


def _values(request: HttpRequest, form: forms.Form, found: queries.DuePage | None) -> dict[str, Any]:
    after = paging.encode(*found.after) if found and found.after else None
    return {
        "form": form,
        "items": found.items if found else (),
        "page": {"first": "after" not in request.GET, "after": after},
    }
