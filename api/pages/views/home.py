"""The start page: the work that is due today, for the role of the reader."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Sum
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render

from api.pages.access import may, page, reader
from assessments import queries
from assessments.queries.due import SOON
from assessments.works import queries as works
from inventory import calendar
from inventory.people.models import User


@dataclass(frozen=True)
class Tally:
    """One figure of the day: what it counts, where its list is (address name and query), how pressing it is."""

    number: int
    label: str
    help: str
    address: str = ""
    query: str = ""
    tone: str = ""


@page()
def home(request: HttpRequest) -> HttpResponseBase:
    """Show what waits for this person; who is not signed in is asked to."""
    person = reader(request)
    if person is None:
        return redirect("sign-in")
    values: dict[str, Any] = {"tallies": []}
    if may(request, "due.view"):
        summary = queries.due_summary(calendar.today())
        values |= {"summary": summary, "tallies": _due(summary)}
    if may(request, "orders.view"):
        values["tallies"] += _orders(person)
    return render(request, "home.html", values)


def _due(summary: queries.DueSummary) -> list[Tally]:
    today = summary.today.isoformat()
    soon = (summary.today + SOON).isoformat()
    running = len(summary.emergencies)
    return [
        Tally(running, "Open emergencies", "not answered by a later rating", tone="urgent" if running else ""),
        Tally(summary.act_overdue, "Work overdue", "past the act-by date", "due", f"kind=act&before={today}", "late"),
        Tally(summary.act_soon, "Work due soon", "within 30 days", "due", f"kind=act&before={soon}"),
        Tally(
            summary.inspect_overdue,
            "Inspections overdue",
            "past the inspect-by date",
            "due",
            f"kind=inspect&before={today}",
            "late",
        ),
        Tally(summary.inspect_soon, "Inspections due soon", "within 30 days", "due", f"kind=inspect&before={soon}"),
        Tally(summary.unseen, "Trees to be seen", f"{summary.never_rated:,} of them never rated", "unseen"),
    ]


def _orders(person: User) -> list[Tally]:
    """The running orders; a contractor's are those that wait for it."""
    visible = works.orders_visible_to(person)
    running = visible.filter(state__in=["issued", "accepted"])
    verify = running.aggregate(total=Sum("to_verify_count"))["total"] or 0
    if person.contractor_ids:
        waiting = visible.filter(state="issued").count()
        accepted = visible.filter(state="accepted").count()
        return [
            Tally(waiting, "Orders to accept", "issued to you", "orders", "state=issued", "late" if waiting else ""),
            Tally(accepted, "Orders in work", "accepted by you", "orders", "state=accepted"),
        ]
    return [
        Tally(running.count(), "Open orders", "issued or accepted", "orders"),
        Tally(verify, "Items to verify", "reported by contractors", "orders", "state=accepted"),
    ]
