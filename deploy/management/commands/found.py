"""`manage.py found`: writes the one municipality row from the settings."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory import queries
from inventory.models import Municipality
from inventory.people.models import Organisation


class Command(BaseCommand):
    """Found the municipality; a second run changes nothing but what the settings say may change."""

    help = "Write the municipality (name, time zone, currency, emergency number) from the settings."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--emergency-contractor", help="name of the contractor that emergency orders go to")

    def handle(self, *args: Any, **options: Any) -> None:
        """Raises CommandError where the metric CRS differs from the one that the tables were made with."""
        found = Municipality.objects.first()
        if found and found.metric_srid != settings.METRIC_SRID:
            raise CommandError(
                f"METRIC_SRID is {settings.METRIC_SRID} but the tables were made with {found.metric_srid}: "
                "it is fixed by the first migrate; set it back, or start a new database"
            )
        Municipality.objects.update_or_create(id=1, defaults={**settings.CITY, "metric_srid": settings.METRIC_SRID})
        if name := options["emergency_contractor"]:
            self._choose_contractor(name)
        queries.forget_municipality()
        self.stdout.write(f"municipality: {settings.CITY['name']} (EPSG:{settings.METRIC_SRID})")

    def _choose_contractor(self, name: str) -> None:
        contractor = Organisation.objects.filter(name=name, kind="contractor", ended_on=None).first()
        if contractor is None:
            raise CommandError(f"there is no contractor named {name!r}")
        Municipality.objects.update(emergency_contractor=contractor)
