"""What the opened stems taught, in words: bias by sign, method and species group, and who agrees with whom."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from api.pages import words
from api.pages.dissection_forms import reason
from assessments.methods import calibration as method
from assessments.methods.calibration.rows import CENTRE_FRACTION
from assessments.models import Calibration
from assessments.report.drawing import calibration as drawing

FACTORS: Final = {
    "sign": "By the sign outside",
    "method": "By the way it was measured",
    "group": "By the group of species",
    "reason": "By why it was removed",
}
_LEVELS: Final = {
    "none": "No sign",
    "unknown": "Way not stated",
    "unlisted": "Species without a group",
    "strong_walling": "Wall off decay well",
    "moderate_walling": "Wall off decay moderately",
    "weak_walling": "Wall off decay badly",
}
SHARES: Final = {
    "sensitivity": "Of the hollow stems, foretold as hollow",
    "specificity": "Of the sound stems, foretold as sound",
    "predictive_value": "Of those foretold hollow, found hollow",
    "negative_predictive_value": "Of those foretold sound, found sound",
}


@dataclass(frozen=True)
class Effect:
    """One effect in words. `low`, `high` and `best`: what an estimate of 0.35 becomes by it, with its 95 % interval."""

    name: str
    trees: int
    cuts: int
    best: float
    low: float
    high: float
    says: str


@dataclass(frozen=True)
class Group:
    """Effects of one factor."""

    title: str
    effects: tuple[Effect, ...]


@dataclass(frozen=True)
class Learned:
    """A calibration as the page shows it. `alternative` describes its picture; empty where it cannot be drawn."""

    whole: Effect | None
    slope: Mapping[str, Any] | None
    groups: tuple[Group, ...]
    strata: tuple[Mapping[str, Any], ...]
    presence: tuple[tuple[str, Mapping[str, Any]], ...]
    by_sign: tuple[tuple[str, Mapping[str, Any]], ...]
    alternative: str


def shown(row: Calibration) -> Learned:
    """Show a stored calibration."""
    told = row.parameters
    effects = told["effects"]
    fitted = method.from_json(told)
    presence = told["presence"]
    return Learned(
        whole=next((_effect(one, "All opened stems") for one in effects if one["factor"] == "intercept"), None),
        slope=next((one for one in effects if one["factor"] == "slope"), None),
        groups=tuple(_groups(effects)),
        strata=tuple({**one, "said": reason(one["reason"])} for one in told["strata"]),
        presence=tuple((said, presence[name]) for name, said in SHARES.items()),
        by_sign=tuple((_sign(sign), share) for sign, share in presence["by_sign"]),
        alternative=drawing.describe(fitted) if fitted else "",
    )


def _groups(effects: Sequence[Mapping[str, Any]]) -> list[Group]:
    found = []
    for factor, title in FACTORS.items():
        own = tuple(_effect(one, _level(factor, one["level"])) for one in effects if one["factor"] == factor)
        if own:
            found.append(Group(title, own))
    return found


def _level(factor: str, level: str) -> str:
    if factor == "reason":
        return reason(level)
    return _sign(level) if factor == "sign" else _LEVELS.get(level, words.say(level))


def _sign(code: str) -> str:
    return _LEVELS.get(code) or words.finding_kind(code)


def _effect(one: Mapping[str, Any], name: str) -> Effect:
    best, low, high = (_moved(one[end]) for end in ("mean", "low95", "high95"))
    return Effect(name, one["trees"], one["cuts"], best, low, high, _says(one["low95"], one["high95"]))


def _moved(shift: float) -> float:
    """What an estimate of 0.35 becomes when its logit moves."""
    logit = math.log(CENTRE_FRACTION / (1 - CENTRE_FRACTION)) + shift
    return 1 / (1 + math.exp(-logit))


def _says(low: float, high: float) -> str:
    if high < 0:
        return "walls are thinner than estimated"
    if low > 0:
        return "walls are thicker than estimated"
    return "not told apart from no shift"
