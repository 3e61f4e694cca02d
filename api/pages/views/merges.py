"""Merges: a later file is compared with what stands here, decided kind by kind or row by row, written, undone."""

import uuid
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from api.pages import downloads, merges, paging
from api.pages.access import author, may, page, require
from api.pages.context import units_of
from api.pages.load_forms import MappingForm
from inventory.formats import csv_writer
from inventory.intake import mapping as mappings
from inventory.intake.merge import differ, queries
from inventory.intake.merge.remember import remember
from inventory.models import IntakeMerge
from inventory.problems import Refusal
from workers import jobs
from workers.models import Job


@require_POST
@page("intake.run")
def check(request: HttpRequest) -> HttpResponseBase:
    """Have a file compared with the inventory."""
    form = MappingForm(request.POST)
    if form.is_valid():
        return redirect("job", jobs.ask(author(request), "intake_merge_check", form.params()).uid)
    return render(request, "load_mapping.html", {"form": form}, status=400)


def anyway(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Compare again a file of which hardly anything was found here."""
    return redirect("job", jobs.ask(author(request), job.kind, {**job.params, "anyway": True}).uid)


class Filter(forms.Form):
    """Which rows to list."""

    kind = forms.ChoiceField(label="Kind", required=False)
    field = forms.ChoiceField(label="Differs in", required=False)
    standing = forms.ChoiceField(
        label="Ours", required=False, choices=[("", "Any"), *((name, said) for name, said in merges.STANDINGS.items())]
    )

    def __init__(self, data: Any, counts: dict[str, Any]) -> None:
        super().__init__(data, auto_id="filter_%s")
        kinds = [(kind, f"{title} ({rows:,})") for kind, title, _, rows in merges.kinds(counts) if kind != "same"]
        fields = [(one["name"], f"{one['title']} ({one['differs']:,})") for one in merges.fields(counts)]
        for name, offered in (("kind", kinds), ("field", fields)):
            chosen = self.fields[name]
            assert isinstance(chosen, forms.ChoiceField)  # noqa: S101 - tells the type checker what it is
            chosen.choices = [("", "Any"), *offered]
        for one in self.fields.values():
            # Its fields stand inside the form of the choices, which no other form may.
            one.widget.attrs["form"] = "rows-filter"


@page("intake.view")
def merge(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """A dry run to be decided, or what a merge did."""
    made = queries.merge(uid)
    system = units_of(request)
    drawing, drawn = merges.plan(made, system)
    chosen = _filter(request)
    found = paging.by_key(queries.rows(made, **chosen), paging.cursor(request))
    rows: list[Any] = [merges.told(row, made.choices, system) for row in found.rows]
    values: dict[str, Any] = {
        "merge": made,
        "kinds": merges.kinds(made.counts),
        "fields": merges.fields(made.counts),
        "aspects": merges.aspects(made),
        "standings": merges.STANDINGS,
        "plan": drawing,
        "marks": [(kind, merges.KINDS[kind][0], drawn[kind], made.counts["kinds"][kind]) for kind in drawn],
        "filter": Filter(request.GET, made.counts),
        "chosen": merges.KINDS.get(chosen["kind"], ("",))[0],
        "filtered": urlencode(chosen),
        "page": paging.Page(rows, found.after, found.first, found.count),
        "deciding": made.state == "checked" and may(request, "intake.run"),
        "undoable": made.state == "merged" and may(request, "intake.run"),
    }
    return render(request, "merge.html", values)


def _filter(request: HttpRequest) -> dict[str, str]:
    """The kind, field and standing to filter by; what there is not filters nothing."""
    asked = {name: request.GET.get(name, "") for name in ("kind", "field", "standing")}
    known: dict[str, Any] = {"kind": merges.KINDS, "field": differ.FIELDS, "standing": merges.STANDINGS}
    return {name: word if word in known[name] else "" for name, word in asked.items()}


@page("intake.view")
def rows(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The rows of a merge as CSV: what differs, from what to what, what is taken."""
    made = queries.merge(uid)
    found = queries.rows(made, **_filter(request)).iterator(chunk_size=2000)
    return downloads.stream(f"merge-{made.pk}-rows.csv", queries.as_csv(found), csv_writer.MEDIA_TYPE)


@require_POST
@page("intake.run")
def decide(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Keep the choices of the form, and do what its button says: nothing more, compare again, or merge."""
    require(request, "intake.run")
    kinds, single = _choices(request.POST.dict())
    try:
        choices = remember(uid, kinds, single)
    except Refusal as refusal:
        if refusal.status == 404:
            raise
        messages.error(request, f"{refusal.detail[:1].upper()}{refusal.detail[1:]}.", extra_tags="stop")
        return redirect("merge", uid)
    kind = {"again": "intake_merge_check", "merge": "intake_merge"}.get(request.POST.get("do", ""))
    if kind is None:
        messages.success(request, "Your choices are kept. Compare again to see what they change.", extra_tags="good")
        return redirect(f"{reverse('merge', args=[uid])}?{_back(request)}#rows")
    made = queries.merge(uid)
    return redirect("job", jobs.ask(author(request), kind, _params(made, choices.as_dict())).uid)


def _back(request: HttpRequest) -> str:
    """The list that the form stood in."""
    back = QueryDict(request.POST.get("back", "")).dict()
    wanted: dict[str, str] = {name: back[name] for name in ("kind", "field", "standing", "after") if name in back}
    return urlencode(wanted)


def _params(made: IntakeMerge, choices: dict[str, Any]) -> dict[str, Any]:
    """What the jobs take. A person has seen the dry run, so how much of the file is here needs no second question."""
    return {
        "sha256": made.file_sha256,
        "name": made.file_name,
        "mapping": mappings.to_dict(mappings.parse(made.mapping)),
        "choices": choices,
        "anyway": True,
    }


def _choices(sent: Mapping[str, str]) -> tuple[dict[str, str], dict[str, dict[str, str]]]:
    """Choices by kind, and single ones by line and by tree."""
    kinds: dict[str, str] = {}
    single: dict[str, dict[str, str]] = {"lines": {}, "trees": {}}
    for name, word in sent.items():
        what, _, key = name.partition("-")
        if what == "kind" and word:
            kinds[key] = word
        elif what in ("line", "tree"):
            single[f"{what}s"][key] = word
    return kinds, single
