"""Sets options side by side: what each is measured by, and which are dominated, with the reason in words.

An option is dominated where another is no worse by every measure and better by one. Nothing is selected.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from assessments.methods.risk import RISK, code

from .contract import Option

METHOD: Final = "options_compared"
VERSION: Final = 2

# Its worth is what is learnt, which no measure here holds: see the value of information.
EXEMPT: Final = ("advanced_diagnosis",)
_CENT: Final = 0.005
_SAME: Final = 1e-9


@dataclass(frozen=True)
class Measures:
    """What is compared, less being better: money, harm under three maps, risk left, canopy short, value lost.

    `risk` is the worst class of any year; `canopy_short_m2_years` and `value_lost` None where not computed.
    """

    present: float
    harm_low: float
    harm_central: float
    harm_high: float
    risk: str
    canopy_short_m2_years: float | None
    value_lost: float | None


@dataclass(frozen=True)
class Compared:
    """One option with its measures; `dominated_by`: places of those that dominate it; `reasons` one each."""

    option: Option
    measures: Measures
    dominated_by: tuple[int, ...]
    reasons: tuple[str, ...]
    method: str = METHOD
    version: int = VERSION


def measures(option: Option) -> Measures:
    """Measure one option."""
    low, central, high = option.harm
    words = [word for one in option.residual for word in (one.risk, one.later_risk)]
    worst = max(words, key=lambda word: code(RISK, word), default="")
    short = None if option.balance is None else option.balance.canopy_lost_m2_years
    return Measures(float(option.present.total), low, central, high, worst, short, option.value_lost)


def compare(options: Sequence[Option]) -> tuple[Compared, ...]:
    """Compare options in their order; options measured over different horizons raise ValueError."""
    if len({len(option.risk_years) for option in options}) > 1:
        raise ValueError("options: must be worked out over one horizon")
    measured = [measures(option) for option in options]
    return tuple(
        _compared(place, options, measured) if options[place].kind not in EXEMPT
        else Compared(options[place], measured[place], (), ())
        for place in range(len(options))
    )  # fmt: skip


def _compared(place: int, options: Sequence[Option], measured: Sequence[Measures]) -> Compared:
    better = [
        other
        for other in range(len(options))
        if other != place and options[other].kind not in EXEMPT and dominates(measured[other], measured[place])
    ]
    reasons = tuple(_reason(options[other], measured[other], measured[place]) for other in better)
    return Compared(options[place], measured[place], tuple(better), reasons)


def _differences(one: Measures, other: Measures) -> list[float] | None:
    """Give how much less is better one has than the other, measure by measure; None where one of both is unknown."""
    found = [
        _beyond(other.present - one.present, _CENT),
        *(_beyond(getattr(other, name) - getattr(one, name), _SAME * max(getattr(other, name), getattr(one, name)))
          for name in ("harm_low", "harm_central", "harm_high")),
        float(code(RISK, other.risk) - code(RISK, one.risk)),
    ]  # fmt: skip
    for name, least in (("canopy_short_m2_years", _SAME), ("value_lost", _CENT)):
        mine, theirs = getattr(one, name), getattr(other, name)
        if mine is None and theirs is None:
            continue
        if mine is None or theirs is None:
            return None
        found.append(_beyond(theirs - mine, least))
    return found


def _beyond(difference: float, least: float) -> float:
    return difference if abs(difference) > least else 0.0


def dominates(one: Measures, other: Measures) -> bool:
    """Tell whether one is no worse by every measure and better by at least one."""
    found = _differences(one, other)
    return found is not None and min(found) >= 0 and max(found) > 0


def _reason(better: Option, one: Measures, other: Measures) -> str:
    found = _differences(one, other) or []
    says = []
    if found[0] > 0:
        money = f"{found[0]:.0f} {better.currency}".rstrip()
        says.append(f"costs {money} less over {better.present.horizon_years} years")
    if found[2] > 0:
        says.append("leaves less expected harm")
    if found[4] > 0:
        says.append(f"leaves {one.risk or 'no'} instead of {other.risk} risk")
    if len(found) > 5 and found[5] > 0 and one.canopy_short_m2_years is not None:
        says.append("keeps more canopy")
    if found[-1] > 0 and one.value_lost is not None:
        says.append("loses less appraised value")
    return f"{better.says} {', '.join(says) or 'is better by one measure'}, and is no worse by any other measure."
