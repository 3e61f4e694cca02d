"""Problem pages: what went wrong, in plain words, and what to do next."""

from dataclasses import dataclass
from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.problems import Missing, Refusal


@dataclass(frozen=True)
class Kind:
    """A kind of problem: the HTTP status it comes with, its title, what it means, what to do."""

    status: int
    title: str
    meaning: str
    next_step: str


KINDS: Final[dict[str, Kind]] = {
    "invalid": Kind(
        400,
        "What was sent breaks a rule",
        "One or more fields hold something that cannot be accepted: a value out of range, a date in the future, "
        "a word that is not on the list, or two fields that contradict each other. Nothing was changed.",
        "Read the list of fields in the answer, correct them and send again. Each is named by its place in what was sent.",
    ),
    "refused": Kind(
        400,
        "The request was refused",
        "The request could not be carried out as it stands. Nothing was changed.",
        "Read the detail in the answer; it says what stood in the way.",
    ),
    "not-signed-in": Kind(
        401,
        "Nobody is signed in",
        "The request carries no valid token or session, or it has run out.",
        "Sign in, or send a valid token with the request.",
    ),
    "not-allowed": Kind(
        403,
        "You may not do this",
        "Your role does not include this step, or the thing belongs to another organisation.",
        "Ask the city forester's office if you think that you should be able to do it.",
    ),
    "not-found": Kind(
        404,
        "Not found",
        "There is nothing at this address, or it is not yours to see.",
        "Check the address, or start from the list.",
    ),
    "conflict": Kind(
        409,
        "This contradicts what is recorded",
        "It does not fit what is in the records already: the tree is felled, the site is taken, the order is past that "
        "step, or the same key was used for other content. Nothing was changed.",
        "Look at the present state first. If a fact is wrong there, record the correction as a new fact.",
    ),
    "stale": Kind(
        412,
        "It was changed since you read it",
        "Somebody else changed it between your reading and your writing. Nothing of yours was written.",
        "Read it again, look at what changed, and repeat your change if it still makes sense.",
    ),
    "precondition-required": Kind(
        428,
        "Say which version you change",
        "A change at the desk must name the version it starts from, so that nobody's work is overwritten unseen.",
        "Read the thing first and send its ETag as If-Match.",
    ),
    "too-large": Kind(
        413,
        "The file is too large",
        "The upload is larger than this service accepts. Nothing was stored.",
        "Split the file, or ask the operator to raise the limit.",
    ),
    "too-many-requests": Kind(
        429,
        "Too many requests",
        "More requests came in a short time than this service answers.",
        "Wait as long as the answer says, then go on more slowly.",
    ),
    "unavailable": Kind(
        503,
        "Not available at the moment",
        "The database or another part of the service does not answer.",
        "Try again in a minute. Nothing that was accepted is lost.",
    ),
    "internal": Kind(
        500,
        "Something went wrong here",
        "The fault lies with the service, not with what you sent. Nothing was changed.",
        "Try again. If it happens again, tell the operator the time and the address of the page.",
    ),
}


def show(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    """Answer a refusal with its problem page."""
    return _page(request, refusal.kind, refusal.status, refusal.detail, refusal)


def _page(
    request: HttpRequest, kind: str, status: int, detail: str = "", refusal: Refusal | None = None
) -> HttpResponse:
    about = KINDS.get(kind, KINDS["refused"])
    values = {"kind": kind, "about": about, "status": status, "detail": detail, "refusal": refusal}
    return render(request, "problem.html", values, status=status)


def explain(request: HttpRequest, kind: str) -> HttpResponse:
    """Explain one kind of problem: the page that `type` of an API problem document points to."""
    if kind not in KINDS:
        return show(request, Missing(f"no kind of problem is called {kind}"))
    return render(request, "problem_kind.html", {"kind": kind, "about": KINDS[kind]})


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer a request that cannot be read."""
    return _page(request, "refused", 400)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer someone who may not."""
    return _page(request, "not-allowed", 403)


def missing(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer for an address where nothing is."""
    return _page(request, "not-found", 404)


def broken(request: HttpRequest) -> HttpResponse:
    """Answer where the service itself failed."""
    return _page(request, "internal", 500)


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that was sent without its token, or with one that ran out."""
    return _page(request, "not-allowed", 403, "The form had expired. Go back, reload the page and send it again.")
