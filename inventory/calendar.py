"""The municipal calendar: which day it is where the trees stand."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from inventory import queries


def today() -> date:
    """The municipal date now. Rules take the day as an argument; only the doors call this."""
    return municipal_date(timezone.now())


def municipal_date(instant: datetime) -> date:
    """The municipal date of an instant."""
    return instant.astimezone(ZoneInfo(queries.municipality().time_zone)).date()
