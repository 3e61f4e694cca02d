"""What every page knows: the city, the day, the reader's units, what is in the navigation."""

from typing import Any

from django.http import HttpRequest

from inventory import calendar, queries
from inventory.problems import Missing

# address name, label, the action of the role table that shows it (empty: everyone)
NAVIGATION = (
    ("trees", "Trees", ""),
    ("due", "Due work", "due.view"),
    ("unseen", "To be seen", "due.view"),
    ("orders", "Orders", "orders.view"),
    ("decisions", "Decisions", "assessments.view"),
    ("dissections", "Opened stems", "assessments.view"),
    ("calibration", "Calibration", "assessments.view"),
    ("rate-card", "Rates", "assessments.view"),
    ("near", "Near works", "projects.ask"),
    ("calculations", "Calculate", "calculations.run"),
    ("species-review", "Species", "species.settle"),
    ("loads", "Loads", "intake.view"),
)


def city(request: HttpRequest) -> dict[str, Any]:
    """Give the templates `city` and `today` (None before the city is founded), `units` and `navigation`."""
    try:
        found = queries.municipality()
    except Missing:
        found = None
    return {
        "city": found,
        "today": calendar.today() if found else None,
        "units": units_of(request),
        "navigation": _navigation(request),
    }


def units_of(request: HttpRequest) -> str:
    """The units the reader wants: of the account, or metric."""
    user = getattr(request, "user", None)
    return str(user.units) if user is not None and user.is_authenticated else "si"


def _navigation(request: HttpRequest) -> list[dict[str, Any]]:
    user = getattr(request, "user", None)
    signed_in = user is not None and user.is_authenticated
    match = getattr(request, "resolver_match", None)
    here = (match.url_name or "") if match else ""
    return [
        {"name": name, "label": label, "here": here == name or here.startswith((f"{name[:-1]}-", f"{name}-"))}
        for name, label, action in NAVIGATION
        if not action or (signed_in and user is not None and user.may(action))
    ]
