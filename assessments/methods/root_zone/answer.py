"""Computes the root zone of one tree by one standard and says it as the JSON answer, with what the standard sets."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from . import as4970, bs5837, us_multiple
from .circle import area_inside
from .contract import Request, read

METHOD: Final = "root_zone"
VERSION: Final = 1

ADVICE: Final = (
    "Advice to a qualified person: a first distance for planning, not the extent of the roots; local codes come first.",
)
NO_SHARE: Final = "no share set; justify, with arboricultural supervision"
# The same height within the tape's accuracy.
_SAME_HEIGHT_M: Final = 0.011


@dataclass(frozen=True)
class Encroached:
    """What works take of the zone: share of its area, area, whether they reach the structural zone (None: unknown)."""

    percent: float
    area_m2: float
    nearest_m: float
    structural: bool | None


@dataclass(frozen=True)
class Zone:
    """One zone: lengths in m. `combined_cm` is the diameter that the radius comes from (None: a palm)."""

    radius_m: float
    combined_cm: float | None
    structural_radius_m: float | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Standard:
    source: str
    method: str
    version: int
    diameter_height_m: float
    zone: Callable[[Request], Zone]
    judge: Callable[[Request, Encroached], tuple[str, str]]


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a root zone from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> found = compute({"dbh_cm": 65, "standard": "as4970", "edition": "2009", "root_crown_diameter_cm": 75})
    >>> found["radius_m"], found["structural_radius_m"]
    (7.8, 2.933)
    """
    asked = read(request)
    standard = _STANDARDS[asked.standard]
    zone = standard.zone(asked)
    out: dict[str, Any] = {
        "standard": asked.standard,
        "edition": asked.edition,
        "radius_m": round(zone.radius_m, 3),
        "area_m2": round(math.pi * zone.radius_m**2, 2),
        "combined_diameter_cm": None if zone.combined_cm is None else round(zone.combined_cm, 3),
    }
    if zone.structural_radius_m is not None:
        out["structural_radius_m"] = round(zone.structural_radius_m, 3)
    if asked.works is not None:
        out |= _against(asked, zone, standard)
    notes = [*ADVICE, *zone.notes, *_height_note(asked, standard)]
    return out | {
        "source": standard.source, "notes": notes, "method": f"{standard.method}_{asked.edition}"
        if asked.standard == "as4970" else standard.method, "version": standard.version,
    }  # fmt: skip


def encroached(asked: Request, zone: Zone) -> Encroached | None:
    """Give what the works take of the zone after its cap; None without works. Overlapping works count once."""
    if asked.works is None:
        return None
    nearest = asked.works.nearest_m
    taken = area_inside(asked.works.within(zone.radius_m), zone.radius_m)
    whole = math.pi * zone.radius_m**2
    inner = zone.structural_radius_m
    return Encroached(min(100 * taken / whole, 100.0), taken, nearest, None if inner is None else nearest < inner)


def _against(asked: Request, zone: Zone, standard: _Standard) -> dict[str, Any]:
    found = encroached(asked, zone)
    assert found is not None  # noqa: S101 - asked with works only
    word, says = standard.judge(asked, found)
    return {
        "encroached_percent": round(found.percent, 4),
        "encroached_m2": round(found.area_m2, 4),
        "nearest_m": round(found.nearest_m, 3),
        "structural_zone_touched": found.structural,
        "class": word,
        "class_says": says,
    }


def _height_note(asked: Request, standard: _Standard) -> list[str]:
    given, rule = asked.diameter_height_m, standard.diameter_height_m
    if asked.palm or (given is not None and abs(given - rule) <= _SAME_HEIGHT_M):
        return []
    if given is None:
        return [f"The diameter is taken as measured at {rule:g} m, the height of the standard."]
    way = "large" if given < rule else "small"
    return [f"The standard measures at {rule:g} m; at {given:g} m the radius comes out a little too {way}."]


def _bs(asked: Request) -> Zone:
    combined = bs5837.combined_diameter_cm(asked.stems_cm)
    radius = float(bs5837.protection_radius_m(combined))
    notes = ["The zone may be drawn as another polygon of the same area where roots cannot spread evenly."]
    if radius >= bs5837.RADIUS_CAP_M:
        notes.append("The radius is capped at 15 m (707 m2).")
    if len(asked.stems_cm) > 5:
        notes.append("More than five stems: mean diameter x root of their number, from memory of the standard.")
    return Zone(radius, combined, None, tuple(notes))


def _bs_class(asked: Request, found: Encroached) -> tuple[str, str]:
    if found.area_m2 <= 0:
        return "none", "The works stay outside the root protection area."
    return NO_SHARE, "BS 5837:2012 sets no share: the default is to keep structures out of the area altogether."


def _as(asked: Request) -> Zone:
    notes = []
    if not asked.edition_given:
        notes.append(
            "No edition was named: 2009 is used, the one whose classes could be established; 2025 has the same radius."
        )
    root_crown = asked.root_crown_diameter_cm
    inner = None if root_crown is None or asked.palm else float(as4970.structural_radius_m(root_crown))
    if asked.palm:
        notes.append("Palms, cycads and tree ferns do not follow the formula, and have no structural root zone.")
        if asked.edition == "2025":
            notes.append("2025: not less than 2 m.")
        return Zone(as4970.palm_radius_m(asked.edition, asked.crown_radius_m), None, None, tuple(notes))
    combined = math.hypot(*asked.stems_cm)
    radius = float(as4970.zone_radius_m(combined))
    if len(asked.stems_cm) > 1:
        notes.append("Several stems: root of the sum of their squares, from memory of the standard.")
    if radius in (as4970.LEAST_M, as4970.MOST_M):
        notes.append(f"The radius is held between {as4970.LEAST_M:g} and {as4970.MOST_M:g} m.")
    if inner is None:
        notes.append("The structural root zone needs root_crown_diameter_cm, measured above the root crown.")
    if asked.edition == "2025":
        notes.append(
            "2025 calls the circle the notional root zone; the protection zone is what the arborist sets on site."
        )
    return Zone(radius, combined, inner, tuple(notes))


def _as_class(asked: Request, found: Encroached) -> tuple[str, str]:
    if found.area_m2 <= 0:
        return "none", "The works stay outside the zone."
    if found.structural:
        return "major", "The works reach the structural root zone: the arborist must show that the tree stays viable."
    if asked.edition == "2025":
        return "not_established", "2025 has three tiers; their limits could not be established: read the standard."
    if found.percent > 100 * as4970.MINOR_SHARE:
        return "major", "More than 10 % of the zone: the arborist must show that the tree stays viable."
    if found.structural is None and not asked.palm:
        return "undecided", "Minor only if outside the structural root zone, which needs root_crown_diameter_cm."
    return "minor", "At most 10 % and outside the structural root zone: make it good with area next to the zone."


def _us(asked: Request) -> Zone:
    combined = math.hypot(*asked.stems_cm)
    notes = ["Radius in feet per inch of dbh by tolerance and age, from memory of the book; no cap, no minimum."]
    if len(asked.stems_cm) > 1:
        notes.append("Several stems: root of the sum of their squares; common practice, no source.")
    return Zone(
        float(us_multiple.zone_radius_m(combined, asked.tolerance, asked.age_class)), combined, None, tuple(notes)
    )


def _us_class(asked: Request, found: Encroached) -> tuple[str, str]:
    if found.area_m2 <= 0:
        return "none", "The works stay outside the zone."
    return "no share set", "The table gives a radius and sets no share: local code and an arborist decide."


_STANDARDS: Final = {
    "bs5837": _Standard(bs5837.SOURCE, bs5837.METHOD, bs5837.VERSION, bs5837.DIAMETER_HEIGHT_M, _bs, _bs_class),
    "as4970": _Standard(as4970.SOURCE, as4970.METHOD, as4970.VERSION, as4970.DIAMETER_HEIGHT_M, _as, _as_class),
    "us-multiple": _Standard(
        us_multiple.SOURCE, us_multiple.METHOD, us_multiple.VERSION, us_multiple.DIAMETER_HEIGHT_M, _us, _us_class
    ),
}
