"""Django's own error views: a problem document for programs, a plain page for people; never a trace."""

import structlog
from django.http import HttpRequest, HttpResponse
from django.template import TemplateDoesNotExist, loader

from api.http import problem
from api.http.kinds import KINDS

_DETAILS = {
    "refused": "the request cannot be understood",
    "not-allowed": "this is not yours to see or change",
    "not-found": "there is nothing at this address",
    "too-large": "more was sent than is taken at once",
    "failed": "something went wrong on our side; nothing was changed",
}
logger = structlog.get_logger(__name__)


def answer(request: HttpRequest, kind: str, detail: str = "") -> HttpResponse:
    """The answer for a problem: a document below /api/ and /health/, a page elsewhere."""
    said = detail or _DETAILS[kind]
    program = request.path.startswith(("/api/", "/health/"))
    return problem.respond(request, kind, said) if program else _page(request, kind, said)


def _page(request: HttpRequest, kind: str, detail: str) -> HttpResponse:
    context = {"problem": problem.document(request.path, kind, detail), "advice": KINDS[kind].advice}
    try:
        text, content_type = loader.get_template("problem.html").render(context, request), "text/html"
    except TemplateDoesNotExist:
        text, content_type = detail, "text/plain"
    except Exception:  # the page itself may need what has failed: the database, the cache
        logger.exception("problem_page_failed")
        text, content_type = detail, "text/plain"
    response = HttpResponse(text, status=KINDS[kind].status, content_type=f"{content_type}; charset=utf-8")
    response["Cache-Control"] = "no-store"
    return response


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """handler400."""
    return answer(request, problem.django_kind(exception) or "refused")


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """handler403."""
    return answer(request, "not-allowed")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """handler404."""
    return answer(request, "not-found")


def failed(request: HttpRequest) -> HttpResponse:
    """handler500."""
    return answer(request, "failed")


def csrf(request: HttpRequest, reason: str = "") -> HttpResponse:
    """CSRF_FAILURE_VIEW: the form was not sent from our own page, or the page is too old."""
    return answer(request, "not-allowed", "this form is out of date: load the page again and repeat")
