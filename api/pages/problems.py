"""Problem pages: what went wrong, in plain words, and what to do next."""

from typing import Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import loader

from api.http import problem
from api.http.kinds import KINDS
from inventory.problems import Refusal

# What each kind means to someone who has never read a standard.
MEANINGS: Final[dict[str, str]] = {
    "invalid": "A field holds something that cannot be accepted: a value out of range, a date in the future, a word "
    "that is not on the list, or two fields that contradict each other.",
    "refused": "The request could not be carried out as it stands.",
    "unreadable": "What was sent could not be read: it is broken off, in another encoding, or not in the format that "
    "it claims to be.",
    "not-signed-in": "This needs an account, and nobody is signed in, or the sign-in has run out.",
    "not-allowed": "Your role does not include this step, or the thing belongs to another organisation.",
    "not-found": "There is nothing at this address, or it is not yours to see.",
    "method": "The address exists, but it does not answer this kind of request.",
    "not-acceptable": "The answer was asked for in a form that this address does not have.",
    "conflict": "It does not fit what is recorded already: the tree is felled, the site is taken, the order is past "
    "that step, or the same key was used for other content.",
    "in-progress": "The same request was sent a moment ago and is still being worked on.",
    "stale": "Somebody else changed it between your reading and your writing.",
    "too-large": "More was sent than is taken at once.",
    "media-type": "What was sent is in a format that this address does not read.",
    "key-reused": "The key that marks a request as a repetition was used before, for other content.",
    "precondition-required": "A change at the desk must name the version that it starts from, so that nobody's work "
    "is overwritten unseen.",
    "too-many": "More requests came in a short time than are answered.",
    "failed": "The fault lies with the service, not with what you sent.",
    "unavailable": "The database, or another part that the answer needs, does not respond.",
}


def show(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    """Answer a refusal with its problem page."""
    document = problem.document(request.path, refusal.kind, refusal.detail, refusal.errors, refusal.title)
    values = {"problem": document, "advice": KINDS[refusal.kind].advice}
    # Without the database nothing can be said of who reads: the page is then filled without the request.
    reader = None if refusal.kind == "unavailable" else request
    text = loader.render_to_string("problem.html", values, reader)
    response = HttpResponse(text, status=refusal.status)
    response["Cache-Control"] = "no-store"
    return response


def explain(request: HttpRequest, kind: str) -> HttpResponse:
    """Explain one kind of problem: the page that `type` of an API problem document leads to."""
    if kind not in KINDS:
        raise Http404(f"no kind of problem is called {kind}")
    values = {"kind": kind, "about": KINDS[kind], "meaning": MEANINGS[kind]}
    return render(request, "problem_kind.html", values)
