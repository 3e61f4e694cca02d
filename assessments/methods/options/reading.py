"""Reads a choice from JSON, strictly: the settings of an option and what the arborist sets instead."""

from types import MappingProxyType
from typing import Final

from assessments.methods.problems import MethodProblem, number
from assessments.methods.request import Fields
from assessments.methods.risk import CONSEQUENCES, FAILURE, IMPACT

from .catalogue import KINDS
from .contract import Choice, Own

METHOD: Final = "option_choice"
VERSION: Final = 1

SETTINGS: Final = ("percent", "months", "targets", "findings", "species")
OWN: Final = ("cost_now", "crew_hours", "residual")
MOST_PLACES: Final = 200
MOST_COST: Final = 1e7
MOST_HOURS: Final = 1e4


def read_choice(kind: str, settings: object = None, own: object = None) -> Choice:
    """Read a choice. `settings`: members of SETTINGS; `own`: members of OWN; both objects or None.

    `residual`: an array of {rating, failure, impact, consequences}. Raises MethodProblem with pointers beneath
    /settings and /own.

    >>> read_choice("reduce_crown", {"percent": 15}).percent
    15.0
    """
    if kind not in KINDS:
        raise MethodProblem("/kind", f"must be one of {', '.join(KINDS)}")
    fields = Fields({} if settings is None else settings, "/settings", SETTINGS)
    return Choice(
        kind,
        percent=fields.maybe("percent", 0, 90, above=True),
        months=_months(fields),
        targets=_places(fields, "targets"),
        findings=_places(fields, "findings"),
        species=fields.text("species") if fields.has("species") else "",
        own=_own(Fields({} if own is None else own, "/own", OWN)),
    )


def _whole(value: object, pointer: str, most: int) -> int:
    found = number(value, pointer, 0, most)
    if found != int(found):
        raise MethodProblem(pointer, "must be a whole number")
    return int(found)


def _months(fields: Fields) -> int | None:
    if not fields.has("months"):
        return None
    found = fields.number("months", 1, 120)
    return _whole(found, fields.at("months"), 120)


def _places(fields: Fields, name: str) -> tuple[int, ...] | None:
    if not fields.has(name):
        return None
    return fields.items(name, MOST_PLACES, lambda item, at: _whole(item, at, MOST_PLACES))


def _own(fields: Fields) -> Own:
    rows = fields.items("residual", MOST_PLACES, _residual)
    if len({place for place, _ in rows}) < len(rows):
        raise fields.wrong("residual", "has a rating twice")
    return Own(
        cost_now=fields.maybe("cost_now", 0, MOST_COST),
        crew_hours=fields.maybe("crew_hours", 0, MOST_HOURS),
        residual=MappingProxyType(dict(rows)),
    )


def _residual(value: object, pointer: str) -> tuple[int, tuple[str, str, str]]:
    one = Fields(value, pointer, ("rating", "failure", "impact", "consequences"))
    words = []
    for name, scale in (("failure", FAILURE), ("impact", IMPACT), ("consequences", CONSEQUENCES)):
        one.needed(name)
        words.append(one.choice(name, scale, ""))
    return _whole(one.needed("rating"), one.at("rating"), MOST_PLACES), (words[0], words[1], words[2])
