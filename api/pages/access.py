"""The door of every page: who may see it, and what a refusal looks like."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeAlias

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase

from api.pages import problems
from inventory.history import Author
from inventory.people.models import User
from inventory.problems import NotAllowed, Refusal

P = ParamSpec("P")
View: TypeAlias = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def page(action: str = "") -> Callable[[View[P]], View[P]]:
    """Show a page only to those who may do `action` (empty: everyone); a Refusal becomes a problem page.

    Who is not signed in is asked to sign in; who is, but may not, gets the page for 403.
    """

    def wrap(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if action and not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            try:
                require(request, action)
                return view(request, *args, **kwargs)
            except Refusal as refusal:
                return problems.show(request, refusal)

        return guarded

    return wrap


def require(request: HttpRequest, action: str) -> None:
    """Raise NotAllowed unless the reader may do the action."""
    if action and not may(request, action):
        raise NotAllowed("your role does not include this")


def may(request: HttpRequest, action: str) -> bool:
    """Tell whether the reader may do the action."""
    return bool(request.user.is_authenticated and request.user.may(action))


def reader(request: HttpRequest) -> User | None:
    """The person who is signed in, or None for the public."""
    return request.user if isinstance(request.user, User) else None


def author(request: HttpRequest) -> Author:
    """Who writes in this request. Raises NotAllowed for the public."""
    person = reader(request)
    if person is None:
        raise NotAllowed("sign in first")
    return Author(person.pk, request_id(request))


def request_id(request: HttpRequest) -> str:
    """The id under which this request is in the log."""
    meta: dict[str, Any] = request.META
    return str(meta.get("HTTP_X_REQUEST_ID", ""))
