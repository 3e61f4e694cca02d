"""`manage.py due`: the work that is due, the most urgent first, with its reasons."""

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from assessments import queries
from inventory.calendar import today
from inventory.models import Zone


class Command(BaseCommand):
    """Print the due list, or only how much is due."""

    help = "Print what is due: mitigation (act by) and inspection (inspect by), the most urgent first."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--summary", action="store_true", help="only how much is due")
        parser.add_argument("--limit", type=int, default=20, help="how many trees (20)")
        parser.add_argument("--zone", help="code of a zone")
        parser.add_argument("--on", type=date.fromisoformat, help="the day to look from (today)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the summary, then the list unless only the summary was asked for."""
        day = options["on"] or today()
        self._summary(queries.due_summary(day, top=0))
        if not options["summary"]:
            self._list(day, options["zone"], options["limit"])

    def _summary(self, found: queries.DueSummary) -> None:
        by_risk = ", ".join(f"{word} {count}" for word, count in found.by_risk.items())
        for name, figure in (
            ("standing trees", found.trees),
            ("worst rating", f"{by_risk}, never rated {found.never_rated}"),
            ("act by", f"{found.act_overdue} overdue, {found.act_soon} soon"),
            ("inspect by", f"{found.inspect_overdue} overdue, {found.inspect_soon} soon"),
            ("to be seen", f"{found.unseen} never rated or overdue to be seen"),
        ):
            self.stdout.write(f"{name:<16}{figure}")

    def _list(self, day: date, zone: str | None, limit: int) -> None:
        chosen = Zone.objects.get(code=zone).pk if zone else None
        for item in queries.due_list(day, zone=chosen, limit=limit).items:
            self.stdout.write(f"\n{item.tag or item.tree_uid}  {item.risk or 'never rated'}")
            for reason in item.reasons:
                self.stdout.write(f"  {reason}")
