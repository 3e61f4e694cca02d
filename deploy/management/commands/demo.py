"""`manage.py demo`: fills an empty municipality with the invented city of Harrowmere."""

import os
import secrets
from datetime import date
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from assessments.restate import restate_all
from deploy.demo import learned, load
from deploy.demo.people import PEOPLE
from inventory import calendar
from inventory.models import Municipality, Species
from inventory.people import roles

PASSWORD = "DEMO_PASSWORD"  # noqa: S105 (the name of the variable)


class Command(BaseCommand):
    """Load the demo city; harmless to repeat, refuses beside other trees."""

    help = "Load the invented demo city: trees, three years of inspections and orders, one user a role."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--reference", type=date.fromisoformat, help="the day it is in the city (default: today)")
        parser.add_argument("--users", action="store_true", help="only list the demo users")

    def handle(self, *args: Any, **options: Any) -> None:
        """Raises CommandError where the municipality holds other trees."""
        if options["users"]:
            self._users(os.environ.get(PASSWORD, ""))
            return
        if not Municipality.objects.exists():
            call_command("found", stdout=self.stdout)
        if not Species.objects.exists():
            call_command("reference", stdout=self.stdout)
        given = os.environ.get(PASSWORD, "")
        password = given or secrets.token_urlsafe(12)
        try:
            loaded = load.load(options["reference"] or calendar.today(), password)
        except load.NotEmpty as reason:
            raise CommandError(f"{reason}: the demo city goes into an empty municipality only") from reason
        self._tell(loaded)
        self._users(password if loaded.fresh else given)

    def _tell(self, loaded: load.Loaded) -> None:
        if loaded.fresh:
            restate_all()
        said = ", ".join(f"{number:,} {noun}" for noun, number in loaded.counts.items())
        self.stdout.write(f"demo city: {'loaded' if loaded.fresh else 'is there already'}: {said}")

    def _users(self, password: str) -> None:
        """A line a user; they share one password, made for this demo alone."""
        self.stdout.write(f"Demo users, password {password or 'as given when the city was loaded'}:")
        for person in PEOPLE:
            self.stdout.write(f"  {person.email:<30}{roles.LABELS[person.role]:<15}{person.at}")
        for line in learned.GUIDE:
            self.stdout.write(line)
