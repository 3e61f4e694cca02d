"""Mass of a log and of the pieces that stay under a limit: diameters over bark, straight taper, voids taken off.

Static mass only: the peak force on a rope and on its anchor is several times larger. Geometry is exact.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from .problems import MethodProblem, number
from .request import Fields
from .wood import Wood, find
from .wood.biomass import dry_mass

METHOD: Final = "log_mass_frustums"
VERSION: Final = 1

Floats = npt.NDArray[np.float64]

DEFAULT_MARGIN: Final = 0.15
SHORTEST_M: Final = 0.3
STEP_M: Final = 0.01
MOST_SECTIONS: Final = 500
TALLEST_M: Final = 120.0
THICKEST_CM: Final = 1200.0
# Loose green chips: common practice, no source.
CHIPS_KG_M3: Final = (250.0, 350.0, 450.0)
FIELDS: Final = ("species", "green_density_kg_m3", "sections", "limit_kg", "density_margin", "dbh_cm")
NOTES: Final = (
    "Advice to a qualified person: local rules for climbing, felling, rigging and lifting come first.",
    "Static mass only: forces on ropes and anchors while a piece is caught are several times larger.",
)


@dataclass(frozen=True)
class Log:
    """A log by its sections (k,), rising: heights in m, diameters over bark and void areas in cm and cm2."""

    heights_m: Floats
    diameters_cm: Floats
    voids_cm2: Floats

    @classmethod
    def of(cls, sections: Sequence[tuple[float, float, float]]) -> "Log":
        """Make a log of (height_m, diameter_cm, void_area_cm2) in any order. Raises ValueError with fewer than two."""
        if len(sections) < 2:
            raise ValueError("sections: two or more")
        heights, diameters, voids = np.array(sorted(sections), np.float64).T
        return cls(heights, diameters, voids)

    def volume_below_m3(self, height_m: npt.ArrayLike) -> Floats:
        """Give the volume of wood and bark from the foot of the log up to heights, in m3.

        >>> round(float(Log.of([(0, 20, 0), (1, 20, 0)]).volume_below_m3(1.0)), 5)
        0.03142
        """
        z = np.asarray(height_m, np.float64)
        lengths = np.diff(self.heights_m)
        every = np.arange(len(lengths))
        below = np.concatenate([[0.0], np.cumsum(self._part_m3(every, np.ones(len(lengths))))])
        place = np.clip(np.searchsorted(self.heights_m, z, "right") - 1, 0, len(lengths) - 1)
        share = np.clip((z - self.heights_m[place]) / lengths[place], 0, 1)
        return np.asarray(below[place] + self._part_m3(place, share))

    def _part_m3(self, place: npt.NDArray[np.intp], share: Floats) -> Floats:
        """Volume of the lower `share` of the frustum above section `place`; its void area is linear in height."""
        d0, v0 = self.diameters_cm[place], self.voids_cm2[place]
        rise, more = self.diameters_cm[place + 1] - d0, self.voids_cm2[place + 1] - v0
        length = self.heights_m[place + 1] - self.heights_m[place]
        wood = math.pi / 4 * (d0**2 * share + d0 * rise * share**2 + rise**2 * share**3 / 3)
        return np.asarray(length * (wood - v0 * share - more * share**2 / 2) / 1e4)

    @property
    def volume_m3(self) -> float:
        """Volume of the whole log in m3."""
        return float(self.volume_below_m3(self.heights_m[-1]))


@dataclass(frozen=True)
class Piece:
    """A piece from its upper to its lower cut in m, mass and upper mass in kg."""

    from_m: float
    to_m: float
    mass_kg: float
    upper_kg: float


def pieces(log: Log, density_kg_m3: float, margin: float, limit_kg: float | None) -> tuple[Piece, ...]:
    """Cut a log from the top, each piece the longest whole centimetres whose upper mass stays under the limit.

    Raises MethodProblem where a piece shorter than 0.3 m is still too heavy. Without a limit: one piece.
    """
    foot, top = float(log.heights_m[0]), float(log.heights_m[-1])
    steps = np.arange(0, math.floor((top - foot) / STEP_M + 1e-9) + 1) * STEP_M
    cuts = np.append(top - steps, foot) if top - steps[-1] - foot > 1e-9 else top - steps
    cuts[-1] = foot
    # Mass from each cut up to the top, rising.
    above = density_kg_m3 * (log.volume_m3 - log.volume_below_m3(cuts))
    found, start = [], 0
    while start < len(cuts) - 1:
        end = len(cuts) - 1
        if limit_kg is not None:
            end = _lowest_cut(above, start, limit_kg / (1 + margin))
            if end < len(cuts) - 1 and cuts[start] - cuts[end] < SHORTEST_M - 1e-9:
                raise MethodProblem("/limit_kg", _too_heavy(float(cuts[start])))
        mass = float(above[end] - above[start])
        found.append(Piece(float(cuts[start]), float(cuts[end]), mass, mass * (1 + margin)))
        start = end
    return tuple(found)


def _lowest_cut(above_kg: Floats, start: int, most_kg: float) -> int:
    """The lowest cut whose piece weighs less than the limit: rounding may not lift a piece over it."""
    end = int(np.searchsorted(above_kg, above_kg[start] + most_kg * (1 - 1e-12), "left"))
    if end >= len(above_kg):
        return len(above_kg) - 1
    return max(end - 1, start)


def _too_heavy(height_m: float) -> str:
    return f"is too small: a piece shorter than {SHORTEST_M:g} m below {height_m:.2f} m is still too heavy"


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute log and piece masses from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> ends = [{"height_m": 0, "diameter_cm": 52}, {"height_m": 3, "diameter_cm": 40}]
    >>> compute({"green_density_kg_m3": 833, "sections": ends})["total_kg"]
    417.7
    """
    fields = Fields(request, "", FIELDS)
    wood = find(fields.text("species")) if fields.has("species") else None
    density, notes = _density(fields, wood)
    margin = fields.maybe("density_margin", 0, 1)
    margin = DEFAULT_MARGIN if margin is None else margin
    log = _log(fields)
    limit = fields.maybe("limit_kg", 0, 1e6, above=True)
    found = pieces(log, density, margin, limit)
    dbh = fields.maybe("dbh_cm", 0, THICKEST_CM, above=True)
    total = density * log.volume_m3
    out: dict[str, Any] = {
        "total_kg": round(total, 1),
        "upper_total_kg": round(total * (1 + margin), 1),
        "volume_m3": round(log.volume_m3, 5),
        "green_density_kg_m3": round(density, 1),
        "density_margin": margin,
        "pieces": [_piece(piece) for piece in found],
    }
    if dbh is not None:
        out["brush"] = _brush(fields, wood, dbh)
    return out | {"notes": [*NOTES, *notes], "method": METHOD, "version": VERSION}


def _piece(piece: Piece) -> dict[str, float]:
    # The upper mass is rounded down to stay true to "under the limit"; cuts lie on whole centimetres from the top.
    return {
        "from_m": round(piece.from_m, 3),
        "to_m": round(piece.to_m, 3),
        "mass_kg": round(piece.mass_kg, 2),
        "upper_kg": math.floor(piece.upper_kg * 100) / 100,
    }


def _density(fields: Fields, wood: Wood | None) -> tuple[float, list[str]]:
    given = fields.maybe("green_density_kg_m3", 100, 2000)
    if given is not None and wood is not None:
        raise fields.wrong("green_density_kg_m3", "is given beside species: give one")
    if given is not None:
        return given, []
    if wood is None:
        raise fields.wrong("species", "is missing: give it, or green_density_kg_m3")
    known = wood.green_with_bark_kg_m3 or wood.green_kg_m3
    if known is None:
        raise fields.wrong("species", "has no green density in the wood table: give green_density_kg_m3 instead")
    notes = [*wood.notes, f"Density of green wood with bark from {known.source}, basis {known.basis}."]
    if wood.green_with_bark_kg_m3 is None:
        notes.append("No bark is known of this species: the density is that of wood alone.")
    if wood.log_weight is not None and wood.log_weight[0] > known.value:
        weight, row = wood.log_weight
        notes.append(f"The National Park Service table gives {weight:.0f} kg/m3 for {row}: the larger is used.")
        return weight, notes
    return known.value, notes


def _log(fields: Fields) -> Log:
    sections = fields.items("sections", MOST_SECTIONS, _section, least=2)
    places = sorted(range(len(sections)), key=lambda place: sections[place][0])
    for lower, upper in pairwise(places):
        low, high = sections[lower], sections[upper]
        if high[0] - low[0] < STEP_M:
            raise MethodProblem(f"/sections/{upper}/height_m", "must differ from every other by 0.01 m or more")
        if _least_area_cm2(low, high) < -1e-9:
            raise MethodProblem(f"/sections/{upper}/void_area_cm2", "leaves no wood between this section and the next")
    return Log.of(sections)


def _section(value: object, pointer: str) -> tuple[float, float, float]:
    item = Fields(value, pointer, ("height_m", "diameter_cm", "void_area_cm2"))
    height = number(item.needed("height_m"), item.at("height_m"), 0, TALLEST_M)
    diameter = item.number("diameter_cm", 0, THICKEST_CM, above=True)
    void = item.maybe("void_area_cm2", 0, 1e7) or 0.0
    if void > math.pi * diameter**2 / 4:
        raise item.wrong("void_area_cm2", "is more than the whole section")
    return height, diameter, void


def _least_area_cm2(low: tuple[float, float, float], high: tuple[float, float, float]) -> float:
    """Least area of wood between two sections: a parabola in the share of the way."""
    rise, first = high[1] - low[1], low[1]
    a, b = math.pi / 4 * rise**2, math.pi / 2 * first * rise - (high[2] - low[2])
    at = min(max(-b / (2 * a), 0.0), 1.0) if a > 0 else 0.0
    c = math.pi / 4 * first**2 - low[2]
    return min(c, a + b + c, a * at * at + b * at + c)


def _brush(fields: Fields, wood: Wood | None, dbh_cm: float) -> dict[str, Any]:
    """Green mass of branches and leaves, and loose chips, from dbh; or why the relation does not apply."""
    source = "Branches and leaves: Jenkins et al. 2003 by species group, from forest trees"
    if wood is None or wood.moisture_percent is None:
        raise fields.wrong("dbh_cm", "gives brush only with a species in the wood table")
    dry = dry_mass(dbh_cm, wood.biomass_group)
    if not dry.within_range:
        least, most = dry.range_cm
        return {"applies": False, "note": f"{source}; it holds for dbh {least:g} to {most:g} cm, not {dbh_cm:g} cm."}
    green = (dry.branches_kg + dry.foliage_kg) * (1 + wood.moisture_percent.value / 100)
    low, best, high = (green / density for density in reversed(CHIPS_KG_M3))
    return {
        "applies": True,
        "green_kg": round(green, 1),
        "chips_m3": {"low": round(low, 2), "best": round(best, 2), "high": round(high, 2)},
        "note": f"{source}. Chips: 250 to 450 kg of green chips to a loose m3, common practice, no source.",
    }
