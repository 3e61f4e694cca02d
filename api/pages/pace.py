"""How fast the pages may be asked for: the same limits as the REST interface, over the same count."""

from typing import Any

from django.http import HttpRequest
from rest_framework.throttling import AnonRateThrottle, SimpleRateThrottle, UserRateThrottle

from api.http.kinds import TooMany


def keep_pace(request: HttpRequest) -> None:
    """Count a page: of the public by its address, of a signed-in person by the person. Raises TooMany."""
    limit: SimpleRateThrottle = UserRateThrottle() if request.user.is_authenticated else AnonRateThrottle()
    asked: Any = request  # the throttles read only what Django's own request has too
    if not limit.allow_request(asked, None):  # type: ignore[arg-type]
        raise TooMany("too many pages were asked for; wait a minute")
