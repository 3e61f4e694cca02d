"""The one table of who may do what: role x action."""

from collections.abc import Iterable
from typing import Final

FORESTER: Final = "forester"
INSPECTOR: Final = "inspector"
CONTRACTOR: Final = "contractor"
PUBLIC_WORKS: Final = "public_works"
AUDITOR: Final = "auditor"

LABELS: Final[dict[str, str]] = {
    FORESTER: "City forester",
    INSPECTOR: "Inspector",
    CONTRACTOR: "Contractor",
    PUBLIC_WORKS: "Public works",
    AUDITOR: "Auditor",
}
ROLES: Final = tuple(LABELS)

_STAFF = frozenset({FORESTER, INSPECTOR, PUBLIC_WORKS, AUDITOR})
_EDITORS = frozenset({FORESTER, INSPECTOR})

ALLOWED: Final[dict[str, frozenset[str]]] = {
    # what stands where
    "inventory.view": _STAFF,  # inspector names, notes and sources; the public tier is narrower
    "inventory.edit": _EDITORS,
    "species.settle": _EDITORS,  # what a text of the city's files means, for all its trees
    "zones.edit": frozenset({FORESTER}),
    "photos.add": frozenset({FORESTER, INSPECTOR, CONTRACTOR}),  # a contractor: of the trees in its orders
    "photos.withdraw": frozenset({FORESTER}),
    "history.view": frozenset({FORESTER, INSPECTOR, AUDITOR}),
    "events.view": frozenset({FORESTER, AUDITOR}),
    "intake.run": frozenset({FORESTER}),
    "intake.view": frozenset({FORESTER, AUDITOR}),
    # what was found and concluded
    "assessments.view": _STAFF,
    "inspections.record": _EDITORS,
    "checks.order": _EDITORS,
    "reports.issue": _EDITORS,
    "policy.adopt": frozenset({FORESTER}),
    "recompute.run": frozenset({FORESTER}),
    "rate_card.adopt": frozenset({FORESTER}),
    "options.edit": _EDITORS,
    "decisions.record": frozenset({FORESTER}),  # of the owner, who need not have an account
    "dissections.record": _EDITORS,
    "storms.record": frozenset({FORESTER}),
    "failures.record": _EDITORS,
    "calibration.run": frozenset({FORESTER}),
    "records.view": frozenset({FORESTER}),  # of each assessor, for learning; everyone sees its own
    "due.view": _STAFF,
    "projects.ask": frozenset({FORESTER, INSPECTOR, PUBLIC_WORKS}),
    "calculations.run": frozenset({FORESTER, INSPECTOR, PUBLIC_WORKS}),
    # the work
    "orders.view": frozenset({FORESTER, INSPECTOR, AUDITOR, CONTRACTOR}),  # a contractor: its own only
    "orders.make": frozenset({FORESTER}),
    "orders.accept": frozenset({CONTRACTOR}),
    "orders.report": frozenset({CONTRACTOR}),
    "orders.verify": _EDITORS,
    "jobs.view": frozenset({FORESTER, AUDITOR}),
    "jobs.cancel": frozenset({FORESTER}),
}


def allowed(roles: Iterable[str], action: str) -> bool:
    """Tell whether any of the roles may do the action. An unknown action is a programming error (KeyError)."""
    return not ALLOWED[action].isdisjoint(roles)
