"""Idempotency-Key: a POST repeated with its key gets the first answer; its effect happens once.

After draft-ietf-httpapi-idempotency-key-header-06, but kept 90 days (a phone may be offline for weeks). Only answers
that had an effect are kept: a refused request changed nothing and may be corrected and sent again with its key.
"""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any, Final

from django.core.files.uploadedfile import UploadedFile
from django.db import connection, transaction
from django.http import HttpResponse, QueryDict
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.http.kinds import InProgress, KeyReused
from api.http.requests import author
from api.models import IdempotencyKey
from inventory.problems import Invalid

KEPT: Final = timedelta(days=90)
LONGEST: Final = 200
_KEPT_HEADERS = ("Location", "ETag", "Content-Type")
Handler = Callable[..., HttpResponse]


def idempotent(handler: Handler) -> Handler:
    """Decorate the `post` of an APIView. The header is required; the view must not be public.

    400 without a key, 409 while the first one runs, 422 for the same key with other content.
    """

    @wraps(handler)
    def once(view: APIView, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        key = _key(request)
        scope = {"user_id": author(request).user_id, "method": str(request.method), "path": request.path}
        fingerprint = _fingerprint(request)
        with transaction.atomic():
            _lock(scope, key)
            kept = IdempotencyKey.objects.filter(**scope, key=key).first()
            if kept:
                return _again(kept, fingerprint)
            response = _rendered(view, request, handler(view, request, *args, **kwargs))
            if response.status_code < 400:
                _keep(scope, key, fingerprint, response)
        return response

    once.idempotent = True  # type: ignore[attr-defined]
    return once


def purge() -> int:
    """Forget keys older than 90 days; return how many. For the scheduler."""
    return IdempotencyKey.objects.filter(made_at__lt=timezone.now() - KEPT).delete()[0]


def _key(request: Request) -> str:
    """The key: a quoted string as in the draft, or bare; printable ASCII."""
    key = request.headers.get("Idempotency-Key", "").strip()
    if len(key) >= 2 and key[0] == key[-1] == '"':
        key = key[1:-1]
    if not key:
        raise Invalid("Idempotency-Key: required; make a new one for each request")
    if len(key) > LONGEST or not (key.isascii() and key.isprintable()):
        raise Invalid(f"Idempotency-Key: at most {LONGEST} printable ASCII characters")
    return key


def _lock(scope: dict[str, Any], key: str) -> None:
    """Hold the key until the transaction ends. Raises InProgress where another request holds it."""
    name = json.dumps([*map(str, scope.values()), key]).encode()
    number = int.from_bytes(hashlib.sha256(name).digest()[:8], "big", signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
        if not cursor.fetchone()[0]:
            raise InProgress("the first request with this Idempotency-Key has not ended yet")


def _again(kept: IdempotencyKey, fingerprint: str) -> HttpResponse:
    if kept.fingerprint != fingerprint:
        raise KeyReused("this Idempotency-Key came with other content before")
    return HttpResponse(bytes(kept.body), status=kept.status, headers=kept.headers)


def _rendered(view: APIView, request: Request, response: HttpResponse) -> HttpResponse:
    if isinstance(response, Response):
        response.accepted_renderer = request.accepted_renderer
        response.accepted_media_type = request.accepted_media_type
        response.renderer_context = view.get_renderer_context()  # type: ignore[attr-defined]
        response.render()
    return response


def _keep(scope: dict[str, Any], key: str, fingerprint: str, response: HttpResponse) -> None:
    IdempotencyKey.objects.create(
        **scope,
        key=key,
        fingerprint=fingerprint,
        status=response.status_code,
        headers={name: response[name] for name in _KEPT_HEADERS if name in response},
        body=response.content,
    )


def _fingerprint(request: Request) -> str:
    """SHA-256 over the canonical content: spacing and the order of members do not matter."""
    content = [request.META.get("QUERY_STRING", ""), _content(request.data)]
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def _content(data: Any) -> Any:
    if isinstance(data, QueryDict):
        return {name: [_content(value) for value in data.getlist(name)] for name in data}
    if isinstance(data, UploadedFile):
        digest = hashlib.sha256()
        for chunk in data.chunks():
            digest.update(chunk)
        data.seek(0)
        return [data.name, digest.hexdigest()]
    return data
