"""`manage.py recompute`: computes priority and due dates of every tree, or only of what is marked."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from assessments import restate


class Command(BaseCommand):
    """Run a recompute here and now; the same computation that the workers run."""

    help = "Compute risk class, priority and due dates again."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--marked", action="store_true", help="only what is marked")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the figures of the pass."""
        done = restate.restate_marked() if options["marked"] else restate.restate_all()
        self.stdout.write(", ".join(f"{name} {value}" for name, value in done.as_dict().items()))
