"""Outcomes of the rated trees of the city: two readings, then the method; the same for one tree and for a million."""

from datetime import date
from typing import Any, Final

import numpy as np
from django.db import transaction

from assessments import binary
from assessments.methods import outcomes as method
from assessments.methods import risk
from assessments.models import Storm
from assessments.works.states import ACTIONS
from inventory import queries
from inventory.models import Zone
from inventory.statements import statement

MOVING: Final = ("restrict_target",)
# Work that leaves a standing tree as likely to fail as it was, or leaves none standing.
NO_TREATMENT: Final = frozenset({*MOVING, "remove", "grind_stump", "diagnose", "plant", "water"})
TREATING: Final = tuple(action for action in ACTIONS if action not in NO_TREATMENT)
# A stem that failed in a storm is felled within so many days after it, where nobody recorded the failure itself.
FELLED_WITHIN_DAYS: Final = 7
_ENDINGS: Final = np.dtype([*method.ENDING.descr, ("source", "u1")])
_RECORDED, _OPENED = 1, 2


def outcomes(until: date) -> dict[str, Any]:
    """What became of the rated trees up to a day, in JSON with its methods; see methods/outcomes.

    A failure counts where a rating stood when it happened: `counted` says how many of those recorded do.
    """
    with transaction.atomic():
        ratings = _read("outcome_ratings", {"failure": list(risk.FAILURE), "until": until}, method.RATED)
        endings = _read("outcome_endings", _about(until), _ENDINGS)
        zones = _named(dict(Zone.objects.values_list("pk", "code")))
        storms = _storms()  # read last, for an ending may name one that was recorded meanwhile
    ended = np.empty(len(endings), method.ENDING)
    for name in method.ENDING.names or ():
        ended[name] = endings[name]
    names = _named({pk: storm.uid for pk, storm in storms.items()})
    spells = method.Spells(method.cut(ratings, ended, until), zones, names)
    found = method.report(spells, list(storms.values()), until)
    known = [int((endings["source"] == source).sum()) for source in (_RECORDED, _OPENED)]
    counted = {"recorded": known[0], "from_dissections": known[1], "counted": found.failures}
    told = method.as_json(found)
    notes = [*told["notes"], *_notes(known, found.failures)]
    return told | {"until": until, "counted": counted, "notes": notes, "methods": list(method.METHODS)}


def _notes(known: list[int], counted: int) -> list[str]:
    """What else must be said of these figures."""
    said = []
    if left := sum(known) - counted:
        said.append(
            f"{left} of {sum(known)} known failures count nowhere: no rating stood when they happened, or the tree had"
            " been treated since."
        )
    if known[1]:
        said.append(f"{known[1]} failures are known only from stems that were opened because of a storm.")
    return said


def _about(until: date) -> dict[str, Any]:
    return {
        "until": until,
        "endings": list(method.ENDINGS),
        "felled_within": FELLED_WITHIN_DAYS,
        "time_zone": queries.municipality().time_zone,
        "moving": list(MOVING),
        "ending_work": [*MOVING, *TREATING],
    }


def _read(name: str, params: dict[str, Any], dtype: np.dtype[Any]) -> binary.Rows:
    return binary.read(statement("assessments", name), params, dtype)


def _named(names: dict[int, str]) -> list[str]:
    """Names by number, as short a list as the numbers allow; 0 and unused numbers have none."""
    found = [""] * (max(names, default=0) + 1)
    for number, name in names.items():
        found[number] = name
    return found


def _storms() -> dict[int, method.Storm]:
    """The storms by key, each with its gusts by zone code."""
    rows = Storm.objects.order_by("began_on", "pk")
    gusts = rows.values_list("pk", "gusts__zone__code", "gusts__gust_m_s")
    by_zone: dict[int, dict[str, float]] = {}
    for pk, code, gust in gusts:
        by_zone.setdefault(pk, {}).update({} if code is None else {code: gust})
    return {
        pk: method.Storm(str(uid), began_on, by_zone[pk], city)
        for pk, uid, began_on, city in rows.values_list("pk", "uid", "began_on", "gust_m_s")
    }
