"""`manage.py found`: writes the one municipality row from the settings."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from inventory import queries
from inventory.models import Municipality


class Command(BaseCommand):
    """Found the municipality; a second run changes nothing but what the settings say may change."""

    help = "Write the municipality (name, time zone, currency, emergency number) from the settings."

    def handle(self, *args: Any, **options: Any) -> None:
        """Raises CommandError where the metric CRS differs from the one that the tables were made with."""
        found = Municipality.objects.first()
        if found and found.metric_srid != settings.METRIC_SRID:
            raise CommandError(
                f"METRIC_SRID is {settings.METRIC_SRID} but the tables were made with {found.metric_srid}: "
                "it is fixed by the first migrate; set it back, or start a new database"
            )
        Municipality.objects.update_or_create(id=1, defaults={**settings.CITY, "metric_srid": settings.METRIC_SRID})
        queries.forget_municipality()
        self.stdout.write(f"municipality: {settings.CITY['name']} (EPSG:{settings.METRIC_SRID})")
