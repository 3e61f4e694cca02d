"""What a request says about who asks: its id and the author of what it writes."""

import structlog
from django.http import HttpRequest
from rest_framework.request import Request

from inventory.history import Author
from inventory.people.models import User

_LONGEST_ID = 200


def request_id() -> str:
    """The id of the request being served ('' outside one); it is in the log, the history and each problem."""
    return str(structlog.contextvars.get_contextvars().get("request_id", ""))[:_LONGEST_ID]


def person(request: Request | HttpRequest) -> User | None:
    """The signed-in person; None for the public."""
    user = request.user
    return user if isinstance(user, User) else None


def author(request: Request | HttpRequest) -> Author:
    """The author of whatever this request writes. Only for requests that a permission has let through."""
    user = person(request)
    if user is None:
        raise RuntimeError("a request without a person cannot write")
    return Author(user.pk, request_id())
