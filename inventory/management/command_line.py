"""What the commands share: who acts, and a refusal told in one problem."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management.base import CommandError

from inventory.history import SERVICE, Author
from inventory.people.models import User
from inventory.problems import Conflict, Invalid, Refusal


def author(email: str | None, action: str) -> Author:
    """The person of an address, who must be allowed the action; without one the service itself. Raises a Refusal."""
    if email is None:
        return SERVICE
    person = User.objects.filter(email=email.lower()).first()
    if person is None:
        raise Invalid.field("#/as", f"nobody has the address {email}")
    if not person.may(action):
        raise Conflict(f"{person.name} has no role that may do this")
    return Author(person.pk, "command line")


@contextmanager
def one_problem() -> Iterator[None]:
    """Tell a refusal in one line with every wrong field below it; exit code 2."""
    try:
        yield
    except Refusal as refusal:
        more = [f"\n  {error.pointer}: {error.detail}" for error in refusal.errors[1:]]
        raise CommandError(f"{refusal.title}. {refusal.detail}{''.join(more)}", returncode=2) from refusal
    except BrokenPipeError:
        sys.exit(1)
