"""Every refusal as one RFC 9457 problem document; nothing of the inside shows."""

import json
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import structlog
from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.core.exceptions import ValidationError as ModelInvalid
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from rest_framework import exceptions
from rest_framework.request import Request

from api.http import broken_rules
from api.http.kinds import KINDS, PREFIX, Unavailable
from api.http.requests import request_id
from inventory.problems import FieldProblem, Invalid, Refusal

MEDIA_TYPE = "application/problem+json"
RETRY_S = 5
_WHOLE = ("non_field_errors", "__all__")
_DRF_KINDS: list[tuple[type[exceptions.APIException], str]] = [
    (exceptions.ParseError, "unreadable"),
    (exceptions.NotAuthenticated, "not-signed-in"),
    (exceptions.AuthenticationFailed, "not-signed-in"),
    (exceptions.PermissionDenied, "not-allowed"),
    (exceptions.NotFound, "not-found"),
    (exceptions.MethodNotAllowed, "method"),
    (exceptions.NotAcceptable, "not-acceptable"),
    (exceptions.UnsupportedMediaType, "media-type"),
    (exceptions.Throttled, "too-many"),
]
logger = structlog.get_logger(__name__)


def document(
    instance: str, kind: str, detail: str, errors: Iterable[FieldProblem] = (), title: str = ""
) -> dict[str, Any]:
    """The members of a problem of a kind: type, title, status, detail, instance, request_id, errors."""
    known = KINDS[kind]
    found: dict[str, Any] = {
        "type": PREFIX + kind,
        "title": title or known.title,
        "status": known.status,
        "detail": detail,
        "instance": instance,
        "request_id": request_id(),
    }
    listed = [_error(error) for error in errors]
    return found | ({"errors": listed} if listed else {})


def _error(error: FieldProblem) -> dict[str, str]:
    """A pointer into the body ('#/height_m'), or a query parameter ('?bbox')."""
    if error.pointer.startswith("?"):
        return {"parameter": error.pointer[1:], "detail": error.detail}
    return {"pointer": error.pointer, "detail": error.detail}


def respond(
    request: HttpRequest | Request,
    kind: str,
    detail: str,
    errors: Iterable[FieldProblem] = (),
    headers: Mapping[str, str] | None = None,
) -> HttpResponse:
    """The answer for a problem of a kind, whatever the caller accepts."""
    body = document(request.path, kind, detail, errors)
    response = HttpResponse(
        json.dumps(body), status=body["status"], content_type=MEDIA_TYPE, headers=dict(headers or {})
    )
    response["Cache-Control"] = "no-store"
    return response


def refused(request: HttpRequest | Request, refusal: Refusal) -> HttpResponse:
    """The answer for a refusal of a service."""
    headers = {}
    if refusal.status == 401:
        headers["WWW-Authenticate"] = "Bearer"
    if refusal.kind in ("in-progress", "unavailable"):
        headers["Retry-After"] = "1" if refusal.kind == "in-progress" else str(RETRY_S)
    return respond(request, refusal.kind, refusal.detail, refusal.errors, headers)


def handle(exc: Exception, context: Mapping[str, Any]) -> HttpResponse | None:
    """The REST framework's exception handler: None (a 500 by Django) for what is a defect of ours."""
    request: Request = context["request"]
    refusal = as_refusal(exc)
    if refusal is not None:
        return refused(request, refusal)
    if isinstance(exc, exceptions.APIException):
        return _framework(request, exc)
    return None


def as_refusal(exc: Exception) -> Refusal | None:
    """Turn what services, Django or the database raise into the refusal that says it; None where none does."""
    match exc:
        case Refusal():
            return exc
        case exceptions.ValidationError():
            return Invalid.fields(pointers(exc.detail))
        case ModelInvalid():
            return Invalid.fields(pointers(getattr(exc, "message_dict", None) or exc.messages))
        case IntegrityError() | DataError():
            return broken_rules.refusal(exc)
        case OperationalError():
            logger.error("database_unavailable", exc_info=exc)
            return Unavailable("the database does not answer just now")
    return None


def django_kind(exc: BaseException) -> str | None:
    """The kind of problem of an exception of Django's own."""
    if isinstance(exc, Http404):
        return "not-found"
    if isinstance(exc, PermissionDenied):
        return "not-allowed"
    if isinstance(exc, RequestDataTooBig):
        return "too-large"
    return "refused" if isinstance(exc, SuspiciousOperation) else None


def _framework(request: Request, exc: exceptions.APIException) -> HttpResponse:
    kind = next((name for cls, name in _DRF_KINDS if isinstance(exc, cls)), "failed")
    headers = {}
    if kind == "not-signed-in":
        headers["WWW-Authenticate"] = getattr(exc, "auth_header", "") or "Bearer"
    if isinstance(exc, exceptions.Throttled):
        headers["Retry-After"] = str(math.ceil(getattr(exc, "wait", None) or 1))
    return respond(request, kind, _sentence(exc.detail), headers=headers)


def _sentence(detail: Any) -> str:
    return "; ".join(error.detail for error in pointers(detail)) if isinstance(detail, (list, dict)) else str(detail)


def pointers(detail: Any, at: str = "#") -> list[FieldProblem]:
    """Flatten nested serializer errors into JSON pointers.

    >>> pointers({"findings": [{}, {"azimuth_deg": ["too large"]}]})
    [FieldProblem(pointer='#/findings/1/azimuth_deg', detail='too large')]
    """
    return list(_walk(detail, at)) or [FieldProblem(at, "is not valid")]


def _walk(detail: Any, at: str) -> Iterator[FieldProblem]:
    if isinstance(detail, Mapping):
        for key, value in detail.items():
            yield from _walk(value, at if key in _WHOLE else f"{at}/{_escaped(str(key))}")
    elif isinstance(detail, (list, tuple)):
        for place, value in enumerate(detail):
            yield from _walk(value, f"{at}/{place}" if isinstance(value, (Mapping, list)) else at)
    else:
        yield FieldProblem(at, str(detail))


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")
