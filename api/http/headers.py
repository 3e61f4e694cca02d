"""Response headers that keep browsers strict: content policy, no sniffing, no store of what is personal."""

from collections.abc import Callable
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers

CONTENT_POLICY: Final = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "worker-src": "'self'",
    "manifest-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
    "object-src": "'none'",
}
FIXED: Final = {
    "X-Content-Type-Options": "nosniff",
    "Permissions-Policy": "accelerometer=(), camera=(self), geolocation=(self), gyroscope=(), microphone=(),"
    " payment=(), usb=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
}


def content_policy(**changes: str) -> str:
    """The Content-Security-Policy, with some directives replaced (`style_src="..."`)."""
    policy = CONTENT_POLICY | {name.replace("_", "-"): value for name, value in changes.items()}
    return "; ".join(f"{name} {value}" for name, value in policy.items())


class SecurityHeaders:
    """Middleware: adds what a view has not set itself."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Serve the request."""
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", content_policy())
        for name, value in FIXED.items():
            response.headers.setdefault(name, value)
        if _personal(request, response):
            response.headers.setdefault("Cache-Control", "no-store")
        if request.path.startswith("/api/"):
            patch_vary_headers(response, ["Accept", "Authorization", "Cookie"])
        return response


def _personal(request: HttpRequest, response: HttpResponse) -> bool:
    """Whether the answer may depend on who asked (asked without reading the session)."""
    cookie = settings.SESSION_COOKIE_NAME
    return "Authorization" in request.headers or cookie in request.COOKIES or cookie in response.cookies
