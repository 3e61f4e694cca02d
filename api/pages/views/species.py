"""Species to settle: the texts that wait for a person, one click each; one text with all that it may mean."""

from collections.abc import Sequence
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from api.http import paging
from api.pages.access import author, may, page
from api.pages.species_forms import FindForm, QueueFilter, SettleForm
from inventory.intake import review, settle
from inventory.models import Species
from inventory.problems import Invalid, Refusal
from inventory.species_search import matching

SIZE: Final = 25
FOUND: Final = 12
LATEST: Final = 10


@page("inventory.view")
def waiting(request: HttpRequest) -> HttpResponse:
    """List the texts that wait, with the taxa each may mean, and what was settled last."""
    form = QueueFilter(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {"how": "", "q": ""}
    found = review.queue(how=wanted["how"], words=wanted["q"], after=_after(request), limit=SIZE)
    values = {
        "form": form,
        "queue": found,
        "waiting": sum(found.texts.values()),
        "page": {
            "first": not request.GET.get("after"),
            "after": paging.encode(*found.questions[-1].place) if found.more else None,
        },
        "latest": review.settlements().order_by("-settled_at", "-pk")[:LATEST],
        "settling": may(request, "species.settle"),
    }
    return render(request, "species_review.html", values)


@page("inventory.view")
def text(request: HttpRequest) -> HttpResponse:
    """One text: its trees, what it is settled as, what it may mean, and a search for another taxon."""
    form = FindForm(request.GET)
    if not form.is_valid():
        raise Invalid.field("?key", "must name a text")
    key, words = form.cleaned_data["key"], form.cleaned_data["find"]
    found = review.one(key)
    values = {
        "form": FindForm(initial=form.cleaned_data),
        "one": found,
        "settled": review.settlements().filter(key=key).first(),
        "words": words,
        "choices": _choices(found, words),
        "settling": may(request, "species.settle"),
    }
    return render(request, "species_text.html", values)


def _choices(found: review.Question, words: str) -> Sequence[dict[str, Any]]:
    """The taxa to choose from: those searched for, else those suggested."""
    if words:
        return [{"botanical_name": s.botanical_name, "about": s.common_en} for s in matching(words)[:FOUND]]
    names = [one.botanical_name for one in found.suggestions]
    common = dict(Species.objects.filter(botanical_name__in=names).values_list("botanical_name", "common_en"))
    return [
        {"botanical_name": one.botanical_name, "about": f"{common.get(one.botanical_name, '')}; {one.found}"}
        for one in found.suggestions
    ]


@require_POST
@page("species.settle")
def settled(request: HttpRequest) -> HttpResponseBase:
    """Settle a text, say what that did, and go back to where the reader was."""
    form = SettleForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose what the text means.", extra_tags="stop")
        return _back(request)
    key = form.cleaned_data["key"]
    try:
        done = settle.settle(author(request), review.one(key).text, **form.meaning())
    except Refusal as refusal:
        messages.error(request, f"{refusal.detail[:1].upper()}{refusal.detail[1:]}.", extra_tags="stop")
    else:
        messages.success(request, _told(done), extra_tags="good")
    return _back(request)


def _told(done: settle.Settling) -> str:
    """What settling did, in a sentence or two."""
    meaning = {"text": "kept as a text without a species", "no_tree": "no tree"}
    one = done.settlement
    said = [f"“{one.text[: settle.SHOWN]}” is settled: {one.species or meaning[one.outcome]}."]
    counts = {
        "changed species": done.changed, "are recorded as no tree": done.taken_off, "stand again": done.put_back,
        "were left as they are": done.kept,
    }  # fmt: skip
    told = [f"{count:,} {'tree' if count == 1 else 'trees'} {what}" for what, count in counts.items() if count]
    return " ".join([*said, f"{', '.join(told)}." if told else "No tree changed."])


def _back(request: HttpRequest) -> HttpResponseBase:
    """To the list as it was filtered."""
    kept = {name: value for name in ("how", "q", "after") if (value := request.POST.get(name, "")[:500])}
    return redirect(f"{reverse('species-review')}{f'?{urlencode(kept)}' if kept else ''}")


def _after(request: HttpRequest) -> review.Place | None:
    """The place after which the page starts. Raises Invalid."""
    given = request.GET.get("after", "")
    if not given:
        return None
    try:
        how, trees, tail = paging.decode(given, int, int, str)
    except ValueError as error:
        raise Invalid.field("?after", str(error)) from error
    return how, trees, tail
