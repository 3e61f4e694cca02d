"""The municipality's rules for dates as versioned data, read strictly: errors name the wrong path."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Final, TypeAlias

from . import tables
from .risk import OCCUPANCY

METHOD: Final = "priority_policy"
VERSION: Final = 2

# By occupancy code: unknown, rare, occasional, frequent, constant.
ByOccupancy: TypeAlias = tuple[float, ...]
OCCUPANCIES: Final = ("unknown", *OCCUPANCY)

# Published ranges (ISA BMP Tree Risk Assessment, 2nd ed. 2017): high-risk trees several months to a year,
# low-risk trees 3 to 5 years, in general 1 to 5 years. One month is the least that "several" is let mean.
INTERVAL_RANGE_MONTHS: Final = {"low": (36, 60), "moderate": (12, 36), "high": (1, 12)}
UNRATED_RANGE_MONTHS: Final = (12, 60)
# "Several months to a year" again: how soon what has crossed its threshold already is seen again.
CROSSED_RANGE_MONTHS: Final = (1, 12)
ACT_BY_RANGE_DAYS: Final = (0, 365)


class PolicyError(ValueError):
    """A policy that cannot be used: `path` tells where (such as interval_months.high.rare), `detail` why."""

    def __init__(self, path: str, detail: str) -> None:
        super().__init__(f"{path}: {detail}")
        self.path = path
        self.detail = detail


# What is said beside the figures of a policy or a rate card.
MOST_NOTES: Final = 100
LONGEST_NOTE: Final = 2000
NO_NOTE: Final = f"must be at most {LONGEST_NOTE} characters without control characters"


@dataclass(frozen=True)
class DecayRule:
    """When decay that was measured inside is to be seen again: by the first year in which the threshold is likely met.

    The least t/R, and the chance in % that it is crossed: project's choice (t/R 0.30 is the guide most used, and
    disputed). What has reached that chance on the day it was measured is seen again within `crossed_months`.
    """

    least_t_over_r: float = 0.30
    chance_percent: float = 20.0
    crossed_months: int = 6


@dataclass(frozen=True)
class Policy:
    """Intervals and service times of a municipality, whole months and days; tuples go by occupancy code."""

    version: str
    low_months: ByOccupancy
    moderate_months: ByOccupancy
    high_months: ByOccupancy
    unrated_months: ByOccupancy
    act_by_days_extreme: int
    act_by_days_high: int
    establishment_months: tuple[int, ...]
    establishment_planted_from: date | None
    decay_halves_interval: bool
    occupancy_weight: ByOccupancy
    unknown_dbh_cm: float
    # The city's wind, 3-second gusts at 10 m: what stems are checked for; once a year and once in 50 years. No default
    # is invented: without them the methods say what they lack.
    check_gust_m_s: float | None = None
    gust_climate: tuple[float, float] | None = None
    decay_growth: DecayRule = DecayRule()
    # Share of the removals made for reasons unrelated to the inside whose stem is asked to be opened.
    dissection_share: float = 0.075

    @classmethod
    def from_data(cls, data: object) -> "Policy":
        """Read a policy from a JSON-like mapping. Raises PolicyError for the first wrong value."""
        top = _keys(data, "", _TOP, optional=("notes", "wind", "decay_growth", "dissection"))
        days = _keys(top["act_by_days"], "act_by_days", ("extreme", "high"))
        queue = _keys(top["unseen_queue"], "unseen_queue", ("occupancy_weight", "unknown_dbh_cm"))
        policy = cls(
            version=_text(top["version"], "version"),
            **_intervals(top["interval_months"]),
            unrated_months=_shorter_when_busier(
                top["unrated_interval_months"],
                "unrated_interval_months",
                UNRATED_RANGE_MONTHS,
            ),
            act_by_days_extreme=_whole(days["extreme"], "act_by_days.extreme", *ACT_BY_RANGE_DAYS),
            act_by_days_high=_whole(days["high"], "act_by_days.high", *ACT_BY_RANGE_DAYS),
            **_establishment(top["establishment"]),
            decay_halves_interval=_flag(top["decay_halves_interval"], "decay_halves_interval"),
            occupancy_weight=_weights(queue["occupancy_weight"], "unseen_queue.occupancy_weight"),
            unknown_dbh_cm=_number(queue["unknown_dbh_cm"], "unseen_queue.unknown_dbh_cm", 1, 500),
            **_wind(top.get("wind", {})),
            decay_growth=_decay_growth(top.get("decay_growth", {})),
            dissection_share=_dissection_share(top.get("dissection", {})),
        )
        _check_notes(top.get("notes", {}))
        if policy.act_by_days_extreme > policy.act_by_days_high:
            raise PolicyError("act_by_days.extreme", "must not be later than for high risk")
        return policy


_TOP: Final = (
    "version",
    "interval_months",
    "unrated_interval_months",
    "act_by_days",
    "establishment",
    "decay_halves_interval",
    "unseen_queue",
)


@cache
def default_policy_text() -> str:
    """Give the shipped policy as JSON text; inside the published ranges, otherwise the project's choice."""
    return (tables.FOLDER / "default_policy.json").read_text(encoding="utf-8")


def default_policy() -> Policy:
    """Read the shipped policy."""
    return Policy.from_data(json.loads(default_policy_text()))


def _keys(data: object, path: str, names: tuple[str, ...], optional: tuple[str, ...] = ()) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise PolicyError(path or "policy", "must be an object")
    prefix = f"{path}." if path else ""
    for name in names:
        if name not in data:
            raise PolicyError(prefix + name, "is missing")
    for name in data:
        if name not in names and name not in optional:
            raise PolicyError(f"{prefix}{name}", "is not known")
    return data


def _text(value: object, path: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise PolicyError(path, "must be a text that is not empty")
    return value


def _flag(value: object, path: str) -> bool:
    if not isinstance(value, bool):
        raise PolicyError(path, "must be true or false")
    return value


def _number(value: object, path: str, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise PolicyError(path, "must be a number")
    if not low <= value <= high:
        raise PolicyError(path, f"must be {low} to {high}")
    return value


def _whole(value: object, path: str, low: int, high: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise PolicyError(path, "must be a whole number")
    return int(_number(value, path, low, high))


def _shorter_when_busier(data: object, path: str, bounds: tuple[int, int]) -> ByOccupancy:
    table = _keys(data, path, OCCUPANCIES)
    months = tuple(_whole(table[name], f"{path}.{name}", *bounds) for name in OCCUPANCIES)
    for calm, busy in zip(range(1, 4), range(2, 5), strict=True):
        if months[busy] > months[calm]:
            raise PolicyError(
                f"{path}.{OCCUPANCIES[busy]}",
                f"must not exceed that of {OCCUPANCIES[calm]}",
            )
    return months


def _intervals(data: object) -> dict[str, Any]:
    if isinstance(data, Mapping) and "extreme" in data:
        raise PolicyError("interval_months.extreme", "extreme risk is acted on and has no interval")
    table = _keys(data, "interval_months", tuple(INTERVAL_RANGE_MONTHS))
    months = {
        risk: _shorter_when_busier(table[risk], f"interval_months.{risk}", bounds)
        for risk, bounds in INTERVAL_RANGE_MONTHS.items()
    }
    return {f"{risk}_months": values for risk, values in months.items()}


def _establishment(data: object) -> dict[str, Any]:
    table = _keys(data, "establishment", ("months_after_planting", "planted_from"))
    path = "establishment.months_after_planting"
    visits = table["months_after_planting"]
    if not isinstance(visits, list):
        raise PolicyError(path, "must be a list")
    months = tuple(_whole(month, f"{path}[{place}]", 1, 120) for place, month in enumerate(visits))
    if list(months) != sorted(set(months)):
        raise PolicyError(path, "must rise from visit to visit")
    start = table["planted_from"]
    return {
        "establishment_months": months,
        "establishment_planted_from": None if start is None else _day(start, "establishment.planted_from"),
    }


def _wind(data: object) -> dict[str, Any]:
    table = _keys(data, "wind", (), optional=("check_gust_m_s", "gust_climate"))
    check, climate = table.get("check_gust_m_s"), table.get("gust_climate")
    return {
        "check_gust_m_s": None if check is None else _number(check, "wind.check_gust_m_s", 5, 90),
        "gust_climate": None if climate is None else _climate(climate),
    }


def _decay_growth(data: object) -> DecayRule:
    path, shipped = "decay_growth", DecayRule()
    table = _keys(data, path, (), optional=("least_t_over_r", "chance_percent", "crossed_months"))
    given = {name: table.get(name, getattr(shipped, name)) for name in vars(shipped)}
    return DecayRule(
        _number(given["least_t_over_r"], f"{path}.least_t_over_r", 0.05, 0.9),
        _number(given["chance_percent"], f"{path}.chance_percent", 1, 99),
        _whole(given["crossed_months"], f"{path}.crossed_months", *CROSSED_RANGE_MONTHS),
    )


def _dissection_share(data: object) -> float:
    """A random share of 5 to 10 %: fewer teach nothing, more are not asked of a crew. Project's choice."""
    table = _keys(data, "dissection", (), optional=("sample_percent",))
    return _number(table.get("sample_percent", 7.5), "dissection.sample_percent", 5, 10) / 100


def _climate(data: object) -> tuple[float, float]:
    path = "wind.gust_climate"
    table = _keys(data, path, ("one_year_m_s", "fifty_year_m_s"))
    one, fifty = (_number(table[name], f"{path}.{name}", 5, 120) for name in ("one_year_m_s", "fifty_year_m_s"))
    if fifty <= one:
        raise PolicyError(f"{path}.fifty_year_m_s", "must be more than one_year_m_s")
    return one, fifty


def _day(value: object, path: str) -> date:
    try:
        return date.fromisoformat(_text(value, path))
    except ValueError as error:
        raise PolicyError(path, "must be a date as YYYY-MM-DD") from error


def _weights(data: object, path: str) -> ByOccupancy:
    table = _keys(data, path, OCCUPANCIES)
    return tuple(_number(table[name], f"{path}.{name}", 0.001, 1000) for name in OCCUPANCIES)


def _check_notes(notes: object) -> None:
    if not isinstance(notes, Mapping):
        raise PolicyError("notes", "must be an object")
    if len(notes) > MOST_NOTES:
        raise PolicyError("notes", f"holds more than {MOST_NOTES} notes")
    for name, note in notes.items():
        if not is_note(_text(note, f"notes.{name}")):
            raise PolicyError(f"notes.{str(name)[:100]}", NO_NOTE)


def is_note(text: str) -> bool:
    """Tell whether a note is of a length to be read, and of signs that can be kept."""
    return len(text) <= LONGEST_NOTE and not any(ord(sign) < 32 and sign not in "\n\t" for sign in text)
