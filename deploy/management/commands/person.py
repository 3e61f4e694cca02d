"""`manage.py person EMAIL NAME ROLE ORGANISATION`: adds a person who can sign in."""

import getpass
import sys
from datetime import date
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from inventory.calendar import today
from inventory.people import roles
from inventory.people.models import Membership, Organisation, User


class Command(BaseCommand):
    """Add a person with one role; the password is asked for, or read from standard input."""

    help = "Add a person with a role at an organisation (made when it is new)."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("email")
        parser.add_argument("name")
        parser.add_argument("role", choices=roles.ROLES)
        parser.add_argument("organisation")

    def handle(self, *args: Any, **options: Any) -> None:
        """Raises CommandError for a password that is too weak or an address that is taken."""
        password = getpass.getpass() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
        try:
            validate_password(password, User(email=options["email"], name=options["name"]))
        except ValidationError as error:
            raise CommandError("password: " + " ".join(error.messages)) from error
        if User.objects.filter(email=options["email"].lower()).exists():
            raise CommandError(f"email: {options['email']} has an account already")
        add_person(options["email"], options["name"], options["role"], options["organisation"], password, today())
        self.stdout.write(f"{options['email']} is {options['role']} at {options['organisation']}")


@transaction.atomic
def add_person(email: str, name: str, role: str, organisation: str, password: str, since: date) -> User:
    """Write the user, the organisation where it is new, and the membership."""
    kind = "contractor" if role == roles.CONTRACTOR else "municipality"
    at, _ = Organisation.objects.get_or_create(name=organisation, defaults={"kind": kind})
    user = User.objects.create_user(email, name, password)
    Membership.objects.create(user=user, organisation=at, role=role, since=since)
    return user
