"""The stem load of an inspection in words, for pages and documents: its figures by height, the gusts, older results."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.core.exceptions import ObjectDoesNotExist

from assessments.models import Inspection, StemLoad, StemLoadResult
from inventory import units

_GAP: Final = "\u00a0"
_BASES: Final = {
    "measured": "measured inside",
    "between": "between measured sections",
    "sound": "taken as sound",
}
# A factor that no load reaches.
_MOST: Final = 999


@dataclass(frozen=True)
class Row:
    """One height in words."""

    height: str
    basis: str
    moment: str
    stress: str
    safety: str
    weakest: bool


@dataclass(frozen=True)
class Said:
    """The figures of one stem load in words. `alternative` says the picture to those who cannot see it."""

    alternative: str
    rows: tuple[Row, ...]
    weakest: str
    gust: str
    band: str
    checked: str
    climate: str
    likelihood: str
    reasons: tuple[str, ...]
    sharpen: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Shown(Said):
    """The newest result of a stem load in words, the older ones in short; `drawn`: something was measured inside."""

    load: StemLoad
    newest: StemLoadResult
    older: tuple[str, ...]
    drawn: bool


def shown(inspection: Inspection, system: str) -> Shown | None:
    """Say the stem load of an inspection that was read with all its parts; None where it has none."""
    try:
        load = inspection.stem_load
    except ObjectDoesNotExist:
        return None
    newest, *older = load.results.all()
    words = said(newest.result, system)
    before = tuple(_older(row, system) for row in older)
    return Shown(**vars(words), load=load, newest=newest, older=before, drawn=bool(inspection.sections.all()))


def said(result: Mapping[str, Any], system: str) -> Said:
    """Say the answer of the method for a stem load."""
    judged, weakest = result["likelihood"], units.length(result["weakest_height_m"], system)
    gust = _gust(result["critical_gust_m_s"], system)
    low, high = (_gust(result["critical_gust"][name], system) for name in ("low", "high"))
    return Said(
        alternative=f"Profile of the stem with its measured sections: weakest at {weakest}, critical gust {gust}.",
        rows=_rows(result, system),
        weakest=f"{weakest}, safety factor {_safety(result['weakest'])}",
        gust=gust,
        band=f"80{_GAP}% band {low} to {high}",
        checked=_gust(result["wind"]["gust_v10_m_s"], system),
        climate=_climate(judged["gust_climate"], system),
        likelihood=judged["likelihood_of_failure"] or "",
        reasons=tuple(judged["reasons"]),
        sharpen=judged["sharpen"] or "",
        notes=tuple(result["notes"]),
    )


def _rows(result: Mapping[str, Any], system: str) -> tuple[Row, ...]:
    """The heights that were asked for, and the weakest one among them."""
    found = {row["height_m"]: row for row in [*result["sections"], result["weakest"]]}
    return tuple(
        Row(
            units.length(height, system),
            _BASES.get(row["basis"], row["basis"]),
            f"{row['moment_knm']:.0f}{_GAP}kN{_GAP}m",
            f"{row['stress_mpa']:.1f}{_GAP}MPa",
            _safety(row),
            height == result["weakest_height_m"],
        )
        for height, row in sorted(found.items())
    )


def _safety(row: Mapping[str, Any]) -> str:
    factors = [row["safety_factor"][name] for name in ("low", "best", "high")]
    return " \u2013 ".join(f"over {_MOST}" if value >= _MOST else f"{value:.2f}" for value in factors)


def _gust(speed: float | str, system: str) -> str:
    """A gust; beyond 45 m/s only that it is more."""
    if isinstance(speed, str):
        return units.speed(float(speed.lstrip(">")), system, speed)
    return units.speed(speed, system)


def _climate(climate: Mapping[str, float] | None, system: str) -> str:
    if climate is None:
        return "not set: the city's policy says nothing of its gusts, so no likelihood is suggested from the load"
    gusts = (climate["one_year_m_s"], climate["fifty_year_m_s"])
    once, rare = (units.speed(gust, system, f"{gust:g}") for gust in gusts)
    return f"{once} once a year, {rare} once in 50 years"


def _older(row: StemLoadResult, system: str) -> str:
    gust = _gust(row.result["critical_gust_m_s"], system)
    return f"version {row.version} of {row.method.replace('_', ' ')}: critical gust {gust}"
