"""`manage.py checkup`: checks the main job on the city that is there; exits non-zero where something is wrong."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy import checkup


class Command(BaseCommand):
    """Run every check and say what each saw."""

    help = "Check the main job on this city: what is there, and one tree's way rehearsed and taken back."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print one line a check. Raises CommandError where any failed."""
        failed = []
        for check in checkup.checks(f"http://{settings.LISTEN}"):
            try:
                self.stdout.write(f"  ok      {check.name}: {check.look()}")
            except checkup.Failed as reason:
                failed.append(check.name)
                self.stdout.write(f"  FAILED  {check.name}: {reason}")
        if failed:
            raise CommandError("not in order: " + "; ".join(failed))
