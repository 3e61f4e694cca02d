"""Present value of what a choice costs: now, and again at intervals, over a horizon at a yearly discount rate.

Amounts are exact decimals; the discount factor is 1 / (1 + rate)^year, and only what is shown is rounded (half even).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import Any, Final

from .problems import MethodProblem
from .request import Fields

METHOD: Final = "present_value_of_costs"
VERSION: Final = 1

CENT: Final = Decimal("0.01")
# Discounting over a longer time says nothing: project's choice.
LONGEST_YEARS: Final = 100
HIGHEST_RATE: Final = Decimal("0.5")
MOST_COST: Final = 1e9
MOST_UPKEEP: Final = 40
FIELDS: Final = ("cost_now", "upkeep", "horizon_years", "discount_rate_percent")
_EXACT: Final = Context(prec=40, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True)
class Upkeep:
    """A cost that comes again: first in `first_year`, then every so many years, last in `last_year` at the latest.

    `first_year` None: after one interval. `last_year` None: as long as the horizon lasts.
    """

    what: str
    cost: Decimal
    every_years: int
    first_year: int | None = None
    last_year: int | None = None

    def years(self, horizon_years: int) -> range:
        """Give the years in which it falls due, the horizon's last year included.

        >>> list(Upkeep("survey", Decimal(100), 5).years(12))
        [5, 10]
        """
        first = self.every_years if self.first_year is None else self.first_year
        last = horizon_years if self.last_year is None else min(self.last_year, horizon_years)
        return range(first, last + 1, self.every_years)


@dataclass(frozen=True)
class Flow:
    """What one year costs: `amount` then, `discounted` to today; not rounded."""

    year: int
    what: str
    amount: Decimal
    discounted: Decimal


@dataclass(frozen=True)
class PresentValue:
    """Money of today. `total` = `now` + `upkeep`, each rounded to hundredths from exact sums; `flows` by year."""

    now: Decimal
    upkeep: Decimal
    total: Decimal
    horizon_years: int
    rate: Decimal
    flows: tuple[Flow, ...]
    method: str = METHOD
    version: int = VERSION


def cents(amount: Decimal) -> Decimal:
    """Round to hundredths, a half to the even one.

    >>> cents(Decimal("2.675"))
    Decimal('2.68')
    """
    return amount.quantize(CENT, ROUND_HALF_EVEN)


def factor(rate: Decimal, year: int) -> Decimal:
    """Give what one unit of a year is worth today: (1 + rate)^-year. Raises ValueError for a rate outside 0 to 0.5.

    >>> factor(Decimal("0.25"), 2)
    Decimal('0.64')
    """
    if not 0 <= rate <= HIGHEST_RATE:
        raise ValueError(f"rate: must be 0 to {HIGHEST_RATE}")
    with localcontext(_EXACT):
        return 1 / (1 + rate) ** year


def present_value(now: Decimal, upkeep: Sequence[Upkeep], horizon_years: int, rate: Decimal) -> PresentValue:
    """Discount a cost of today and its upkeep over a horizon. Raises ValueError for years or a rate out of bounds.

    >>> present_value(Decimal(1000), [Upkeep("survey", Decimal(121), 2)], 4, Decimal("0.10")).total
    Decimal('1182.64')
    """
    if not 0 <= horizon_years <= LONGEST_YEARS:
        raise ValueError(f"horizon_years: must be 0 to {LONGEST_YEARS}")
    if any(one.every_years < 1 for one in upkeep):
        raise ValueError("every_years: must be at least 1")
    with localcontext(_EXACT):
        flows = [
            Flow(year, one.what, one.cost, one.cost * factor(rate, year))
            for one in upkeep
            for year in one.years(horizon_years)
        ]
        later = sum((flow.discounted for flow in flows), Decimal(0))
        total = cents(now + later)
        # The parts add up to the total to the hundredth.
        return PresentValue(
            cents(now), total - cents(now), total, horizon_years, rate, tuple(sorted(flows, key=lambda f: f.year))
        )


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a present value from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> compute({"cost_now": 100, "horizon_years": 10, "discount_rate_percent": 3})["present_value"]
    100.0
    """
    fields = Fields(request, "", FIELDS)
    now = _money(fields, "cost_now", 0.0)
    years = _whole(fields, "horizon_years", 0, LONGEST_YEARS)
    percent = fields.number("discount_rate_percent", 0, float(100 * HIGHEST_RATE))
    upkeep = fields.items("upkeep", MOST_UPKEEP, _upkeep)
    found = present_value(now, upkeep, years, Decimal(repr(percent)) / 100)
    return {
        "present_value": float(found.total),
        "now": float(found.now),
        "upkeep": float(found.upkeep),
        "flows": [
            {"year": f.year, "what": f.what, "amount": float(f.amount), "discounted": float(cents(f.discounted))}
            for f in found.flows
        ],
        "notes": [
            "Costs fall due at the end of their year and are discounted by (1 + rate)^year; prices are those of today, "
            "so the rate is one above inflation. What is shown is rounded to hundredths, a half to the even one."
        ],
        "method": METHOD,
        "version": VERSION,
    }


def _money(fields: Fields, name: str, default: float | None = None) -> Decimal:
    if default is not None and not fields.has(name):
        return Decimal(repr(default))
    return Decimal(repr(fields.number(name, 0, MOST_COST)))


def _whole(fields: Fields, name: str, least: int, most: int) -> int:
    value = fields.number(name, least, most)
    if value != int(value):
        raise fields.wrong(name, "must be a whole number")
    return int(value)


def _upkeep(value: object, pointer: str) -> Upkeep:
    item = Fields(value, pointer, ("what", "cost", "every_years", "first_year", "last_year"))
    if not item.has("what"):
        raise MethodProblem(item.at("what"), "is missing")
    first = _whole(item, "first_year", 0, LONGEST_YEARS) if item.has("first_year") else None
    last = _whole(item, "last_year", 0, LONGEST_YEARS) if item.has("last_year") else None
    every = _whole(item, "every_years", 1, LONGEST_YEARS)
    return Upkeep(item.text("what"), _money(item, "cost"), every, first, last)
