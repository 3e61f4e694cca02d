"""Decay over the years in words, for pages and documents: when the threshold is likely met, why, older results."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.urls import reverse

from assessments.models import DecayGrowth, Inspection
from assessments.queries.growths import Grown, growths_of
from inventory import units

_GAP: Final = "\u00a0"


@dataclass(frozen=True)
class Shown:
    """One decayed part in words. `picture` is empty where there is no band."""

    grown: Grown
    newest: DecayGrowth
    older: tuple[str, ...]
    height: str
    picture: str
    alternative: str
    says: str
    now: str
    later: str
    breached: str
    reasons: tuple[str, ...]
    notes: tuple[str, ...]


def shown(inspection: Inspection, system: str) -> tuple[Shown, ...]:
    """Say the decayed parts of an inspection that was read with all its parts."""
    return tuple(_shown(one, inspection, system) for one in growths_of(inspection))


def _shown(grown: Grown, inspection: Inspection, system: str) -> Shown:
    newest, *older = grown.results
    result, says = newest.result, _says(newest)
    band = result["band"]
    picture = reverse("api:decay-growth-picture", args=[grown.uid]) if newest.banded else ""
    return Shown(
        grown=grown,
        newest=newest,
        older=tuple(f"{_since(row)}: {_says(row)}" for row in older),
        height="" if newest.height_m is None else units.length(newest.height_m, system),
        picture=picture,
        alternative=f"Band of t/R over the years. {says}",
        says=says,
        now=_band(band, 0) if band else "",
        later=f"{_band(band, -1)} in {inspection.inspected_on.year + band['years'][-1]}" if band else "",
        breached=f"{result['breached_percent']:.0f}{_GAP}%" if band else "",
        reasons=tuple(result["reasons"]),
        notes=tuple(result["notes"]),
    )


def _says(row: DecayGrowth) -> str:
    """When the threshold is likely met, in one sentence."""
    result = row.result
    if not row.banded:
        return "The root collar is to be examined: no course over years can be given for a rot of roots or butt."
    asked = f"t/R {result['threshold']['t_over_r']:g} is met reaches {result['chance_percent']:g}{_GAP}%"
    if row.first_year is None:
        return f"The chance that {asked} in none of the next {result['band']['years'][-1]} years."
    if row.first_year == 0:
        chance = result["band"]["crossed_percent"][0]
        return f"The chance that {asked} already when it was measured ({chance:.0f}{_GAP}%)."
    year = "year" if row.first_year == 1 else "years"
    return f"The chance that {asked} within {row.first_year} {year} of the measurement."


def _band(band: Mapping[str, Any], place: int) -> str:
    low, middle, high = (band["t_over_r"][name][place] for name in ("low", "median", "high"))
    return f"{middle:.2f} (80{_GAP}% {low:.2f} to {high:.2f})"


def _since(row: DecayGrowth) -> str:
    return f"version {row.version} with {row.rests_on}"
