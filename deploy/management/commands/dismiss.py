"""`manage.py dismiss EMAIL`: closes an account at once; what its person has written stays."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from knox.models import get_token_model

from inventory.calendar import today
from inventory.people.models import User


class Command(BaseCommand):
    """Close a person's account: memberships end, tokens and sessions are worth nothing from now on."""

    help = "Close an account: end its memberships, revoke its tokens and sessions. What the person wrote stays."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("email")
        parser.add_argument("--role", default="", help="end only this role and leave the account open")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        """Raises CommandError where there is no such account, or no such role of it."""
        user = User.objects.select_for_update().filter(email=options["email"].lower()).first()
        if user is None:
            raise CommandError(f"email: {options['email']} has no account")
        held = user.memberships.filter(ended_on=None)
        if options["role"]:
            held = held.filter(role=options["role"])
        ended = held.update(ended_on=today())
        if options["role"]:
            if not ended:
                raise CommandError(f"role: {user.email} does not hold {options['role']}")
            self.stdout.write(f"{user.email} is {options['role']} no longer")
            return
        revoked = get_token_model().objects.filter(user=user).delete()[0]
        User.objects.filter(pk=user.pk).update(is_active=False)
        self.stdout.write(f"{user.email} is closed: {ended} memberships ended, {revoked} tokens revoked")
