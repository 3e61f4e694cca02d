"""The rate card: the one in force as tables, the versions before it, and a new one adopted."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from api.pages import rates
from api.pages.access import author, page
from assessments import queries, services
from assessments.models import RateCard
from inventory.problems import Invalid, Missing


@page("assessments.view")
def card(request: HttpRequest) -> HttpResponse:
    """The card in force, or the version asked for."""
    current = queries.current_rate_card()
    chosen = _chosen(request.GET.get("version", ""), current)
    values = {
        "row": chosen,
        "in_force": chosen.pk == current.pk,
        "card": rates.shown(chosen.data),
        "versions": list(queries.rate_cards()[:30]),
    }
    return render(request, "rate_card.html", values)


def _chosen(version: str, current: RateCard) -> RateCard:
    if not version:
        return current
    if not (version.isascii() and version.isdigit() and len(version) < 9):
        raise Invalid.field("#/version", "must be a whole number")
    if int(version) == current.pk:
        return current
    found = queries.rate_cards().filter(version=int(version)).first()
    if found is None:
        raise Missing(f"there is no rate card {version}")
    return found


@page("rate_card.adopt")
def adopt(request: HttpRequest) -> HttpResponseBase:
    """The form of a new card, filled with the one in force; a POST adopts it."""
    form, status = rates.CardForm(initial={"card": rates.text_of(queries.current_rate_card().data)}), 200
    if request.method == "POST":
        form = rates.CardForm(request.POST, request.FILES)
        if form.is_valid() and _adopted(request, form):
            return redirect("rate-card")
        status = 400
    return render(request, "rate_card_new.html", {"form": form}, status=status)


def _adopted(request: HttpRequest, form: rates.CardForm) -> bool:
    """Adopt it; False where it was refused, which the form then says."""
    try:
        made = services.adopt_rate_card(author(request), form.data_sent(), form.cleaned_data["why"])
    except Invalid as refusal:
        form.take(refusal)
        return False
    messages.success(request, f"Rate card {made.version} is in force for options worked out from now on.")
    return True
