"""`manage.py reference`: brings the reference data up to date (species and their names, the default policy)."""

from typing import Any

from django.core.management.base import BaseCommand

from assessments import services
from inventory.catalogue import load


class Command(BaseCommand):
    """Load reference data; harmless to repeat."""

    help = "Load the species catalogue and, where there is none yet, the default policy."

    def handle(self, *args: Any, **options: Any) -> None:
        """Write what is missing or changed and say how much."""
        self.stdout.write(f"species: {load.apply()}")
        self.stdout.write(f"policy: version {services.install_default_policy().version}")
