"""The municipality's rate card as versioned data: action x size class x access -> cost and crew hours."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final

from . import tables
from .growth import REGIONS
from .money import LONGEST_YEARS
from .policy import MOST_NOTES, NO_NOTE, is_note
from .problems import MethodProblem
from .request import Fields

METHOD: Final = "rate_card"
VERSION: Final = 1

ACTIONS: Final = (
    *("inspect", "diagnose", "restrict_target", "close_target", "remove_part", "reduce_crown", "install_support"),
    *("veteran_care", "habitat_stem", "remove", "grind_stump", "plant", "water"),
)
SIZES: Final = ("small", "medium", "large", "very_large")
ACCESS: Final = ("easy", "ordinary", "difficult")
MOST_COST: Final = 1e6
MOST_HOURS: Final = 1000
# What a city assumes where options are worked out over years, with least and most; as options.Assumptions.
ASSUMED: Final[dict[str, tuple[float, float]]] = {
    "horizon_years": (1, LONGEST_YEARS),
    "discount_rate_percent": (0, 50),
    "reduction_percent": (1, 50),
    "repeat_years": (1, 30),
    "regrowth_m_a_year": (0, 5),
    "closure_months": (1, 24),
    "replant_delay_years": (0, 5),
}
WHOLE: Final = ("horizon_years", "repeat_years", "closure_months", "replant_delay_years")
DEPRECIATIONS: Final = ("condition_percent", "functional_percent", "external_percent")
_TOP: Final = ("version", "currency", "size_from_cm", "actions", "assumptions", "appraisal", "notes")


@dataclass(frozen=True)
class Rate:
    """What one job costs in the currency of the card, and the hours of a whole crew."""

    cost: float
    crew_hours: float


@dataclass(frozen=True)
class Appraised:
    """How trees are appraised by trunk formula (10th edition): unit cost, and depreciations as fractions."""

    unit_cost_per_cm2: float
    condition: float
    functional: float
    external: float


@dataclass(frozen=True)
class RateCard:
    """A version of the card. `size_from_cm`: the diameter at breast height from which each class of SIZES counts.

    `assumptions`: what the city sets of options.Assumptions, by name; `appraisal` None: trees are not appraised.
    """

    version: str
    currency: str
    size_from_cm: tuple[float, ...]
    rates: Mapping[tuple[str, str, str], Rate]
    assumptions: Mapping[str, Any] = field(default_factory=dict)
    appraisal: Appraised | None = None

    @classmethod
    def from_data(cls, data: object) -> "RateCard":
        """Read a card from a JSON-like mapping. Raises MethodProblem naming what is wrong."""
        top = Fields(data, "", _TOP)
        _check_notes(top)
        rates, assumed = _rates(top), _assumptions(top)
        return cls(top.text("version"), _currency(top), _sizes(top), rates, assumed, _appraisal(top))

    def size(self, dbh_cm: float) -> str:
        """Give the size class of a stem.

        >>> default_rate_card().size(60.0)
        'large'
        """
        return [name for name, least in zip(SIZES, self.size_from_cm, strict=True) if dbh_cm >= least][-1]

    def rate(self, action: str, dbh_cm: float, access: str = "ordinary") -> Rate:
        """Give the rate of an action on a stem of a diameter in cm. Raises KeyError for a word of no card.

        >>> default_rate_card().rate("remove", 72.0).crew_hours
        20.0
        """
        return self.rates[action, self.size(dbh_cm), access]


def _currency(top: Fields) -> str:
    code = top.text("currency", 3)
    if not (len(code) == 3 and code.isascii() and code.isalpha() and code.isupper()):
        raise top.wrong("currency", "must be a code of three capital letters (ISO 4217)")
    return code


def _sizes(top: Fields) -> tuple[float, ...]:
    top.needed("size_from_cm")
    table = top.inner("size_from_cm", SIZES)
    least = tuple(table.number(name, 0, 500) for name in SIZES)
    if least[0] != 0:
        raise table.wrong("small", "must be 0: every stem has a class")
    for name, below, above in zip(SIZES[1:], least, least[1:], strict=False):
        if above <= below:
            raise table.wrong(name, "must be more than that of the class before")
    return least


def _rates(top: Fields) -> dict[tuple[str, str, str], Rate]:
    top.needed("actions")
    actions = top.inner("actions", ACTIONS)
    found = {}
    for action in ACTIONS:
        actions.needed(action)
        sizes = actions.inner(action, SIZES)
        for size in SIZES:
            sizes.needed(size)
            cells = sizes.inner(size, ACCESS)
            for access in ACCESS:
                cells.needed(access)
                cell = cells.inner(access, ("cost", "crew_hours"))
                found[action, size, access] = Rate(
                    cell.number("cost", 0, MOST_COST), cell.number("crew_hours", 0, MOST_HOURS)
                )
    return found


def _assumptions(top: Fields) -> dict[str, Any]:
    table = top.inner("assumptions", (*ASSUMED, "growth_region"))
    found: dict[str, Any] = {}
    for name, (least, most) in ASSUMED.items():
        value = table.maybe(name, least, most)
        if value is not None and name in WHOLE:
            if value != int(value):
                raise table.wrong(name, "must be a whole number")
            value = int(value)
        if value is not None:
            found[name] = value
    region = table.raw("growth_region") or ""
    if region not in ("", *REGIONS):
        raise table.wrong("growth_region", f"must be empty or one of {', '.join(REGIONS)}")
    return found | {"growth_region": region}


def _appraisal(top: Fields) -> Appraised | None:
    if not top.has("appraisal"):
        return None
    table = top.inner("appraisal", ("unit_cost_per_cm2", *DEPRECIATIONS))
    shares = (table.number(name, 0, 100) / 100 for name in DEPRECIATIONS)
    return Appraised(table.number("unit_cost_per_cm2", 0, 10_000), *shares)


def _check_notes(top: Fields) -> None:
    notes: Any = top.raw("notes")
    if notes is None:
        return
    if not isinstance(notes, Mapping):
        raise top.wrong("notes", "must be an object")
    if len(notes) > MOST_NOTES:
        raise top.wrong("notes", f"holds more than {MOST_NOTES} notes")
    for name, note in notes.items():
        if not isinstance(note, str):
            raise MethodProblem(f"/notes/{name}", "must be a text")
        if not is_note(note):
            raise MethodProblem(f"/notes/{str(name)[:100]}", NO_NOTE)


@cache
def default_rate_card_text() -> str:
    """Give the shipped card as JSON text: invented figures, the project's choice."""
    return (tables.FOLDER / "default_rate_card.json").read_text(encoding="utf-8")


def default_rate_card() -> RateCard:
    """Read the shipped card."""
    return RateCard.from_data(json.loads(default_rate_card_text()))
