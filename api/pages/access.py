"""The door of every page: who may see it, and what a refusal looks like."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeAlias, cast
from zoneinfo import ZoneInfo

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from api.http import problem
from api.http.requests import author
from api.http.requests import person as reader
from api.pages import problems
from api.pages.pace import keep_pace
from inventory import queries
from inventory.problems import Missing, NotAllowed

__all__ = ["author", "may", "page", "reader", "require"]
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
                keep_pace(request)
                require(request, action)
                with timezone.override(_zone()):
                    return view(request, *args, **kwargs)
            except Exception as error:
                refusal = problem.as_refusal(error)
                if refusal is None:
                    raise
                return problems.show(request, refusal)

        return cast("View[P]", guarded)

    return wrap


def _zone() -> ZoneInfo:
    """The municipality's time, in which every instant is shown."""
    try:
        return ZoneInfo(queries.municipality().time_zone)
    except Missing:
        return ZoneInfo("UTC")


def require(request: HttpRequest, action: str) -> None:
    """Raise NotAllowed unless the reader may do the action."""
    if action and not may(request, action):
        raise NotAllowed("your role does not include this")


def may(request: HttpRequest, action: str) -> bool:
    """Tell whether the reader may do the action."""
    return bool(request.user.is_authenticated and request.user.may(action))
