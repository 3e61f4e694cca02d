"""`manage.py recompute`: computes what was measured, priority and due dates again, of all trees or the marked ones."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from assessments import restate, services


class Command(BaseCommand):
    """Run a recompute here and now; the same computation that the workers run."""

    help = "Compute risk class, priority, due dates and what older versions computed again; learn from opened stems."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--marked", action="store_true", help="only what is marked")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the figures of the pass."""
        if options["marked"]:
            services.follow_policy()
            figures = restate.restate_marked().as_dict()
        else:
            # The due dates of the trees take what is computed of their decay.
            stored = services.recompute_stored().as_dict()
            figures = {**restate.restate_all().as_dict(), **stored, **services.learn()}
        self.stdout.write(", ".join(f"{name} {value}" for name, value in figures.items()))
