"""Wakes the drain of domain events after a request that changed something; a lost broker only delays."""

from collections.abc import Callable
from typing import Final

from django.db import transaction
from django.http import HttpRequest, HttpResponse

from workers.wake import wake

SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class WakeDrain:
    """Middleware: the one place below which nothing enqueues."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Serve the request."""
        response = self.get_response(request)
        if request.method not in SAFE and response.status_code < 400:
            transaction.on_commit(wake)
        return response
