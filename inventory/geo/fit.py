"""Where the metric system is valid: how true its lengths are at a place."""

import math
from typing import Final

from django.conf import settings
from django.db import DatabaseError, connection, transaction

from inventory.statements import statement

MOST_DISTORTED: Final = 0.01
"""Share by which a length in the metric system may differ from the true one (the project's choice)."""


def lengths_km(lon: float, lat: float) -> tuple[float, float] | None:
    """A kilometre north and one east of a place (degrees) as the metric system has them; None where it cannot say."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            given = {"lon": lon, "lat": lat, "srid": settings.METRIC_SRID}
            cursor.execute(statement("inventory", "metric_fit"), given)
            north, east = cursor.fetchone()
    except DatabaseError:
        return None
    return (north, east) if north and east and math.isfinite(north + east) else None


def valid_at(lon: float, lat: float) -> bool:
    """Tell whether distances in the metric system are right at a place (degrees)."""
    lengths = lengths_km(lon, lat)
    return lengths is not None and all(abs(length - 1) <= MOST_DISTORTED for length in lengths)
