"""Says a stem load as the JSON answer: numbers with units in their names, notes, method and version."""

import math
from typing import Any, Final

from assessments.methods.wind import moment_knm
from assessments.methods.wood import find
from assessments.methods.wood.tables import key

from . import overturning
from .check import Result, Row, after_reduction, check, highest_m
from .contract import read
from .tree import Tree

METHOD: Final = "static_stem_load"
VERSION: Final = 1

# Beyond it static wind loads are no longer tied to anything measured.
FASTEST_M_S: Final = 45.0
# A wind that moves nothing gives no finite safety factor.
MOST: Final = 999.0
NOTES: Final = (
    "Advice to a qualified person, never a verdict that a tree is safe; local codes and licensed practice come first.",
    "Static load on one upright stem: sway and its amplification, torsion, shear, shell buckling, roots and unions lie "
    "outside.",
    "Safety factor: green compression strength along the grain over bending and weight together; rupture_factor is a "
    "second figure from bending tests of clear wood and not the convention.",
    "Drag is quadratic in wind speed throughout: the coefficient, on still-air area, already holds the crown's "
    "yielding, and nothing more is taken off beyond the fastest wind measured (about 20 m/s).",
    "Bands are 80 %: scatter of strength, drag and the section's loss as independent log-normal spreads (project's "
    "choice); the size of the crown is taken as measured.",
    "Between measured sections the loss is taken to change evenly; beyond them, and where nothing was measured, the "
    "stem is taken as sound.",
    "Above the crown's base, or the highest place measured, nothing is computed: limbs share the load there.",
)


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a stem load from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> tree = {"species": "Tilia cordata", "height_m": 18, "crown_base_m": 4, "crown_width_m": 9, "dbh_cm": 50}
    >>> 0 <= compute(tree)["weakest_height_m"] <= 4
    True
    """
    tree = read(request)
    species = request.get("species")
    return as_json(tree, check(tree), species if isinstance(species, str) else "")


def as_json(tree: Tree, result: Result, species: str = "") -> dict[str, Any]:
    """Say a result in the contract's words."""
    low, best, high = result.critical_gust_m_s(tree)
    out: dict[str, Any] = {
        "sections": [_row(row) for row in result.rows],
        "weakest_height_m": result.weakest.height_m,
        "weakest": _row(result.weakest),
        "critical_gust_m_s": _gust(best),
        "critical_gust": {
            "low": _gust(low),
            "best": _gust(best),
            "high": _gust(high),
            "height_m": result.first_to_fail.height_m,
            "unit": "m/s, 3-second gust at 10 m",
        },
        "wind": _wind(tree),
        "strength": _strength(tree),
        "drag": {"low": tree.drag.low, "best": tree.drag.best, "high": tree.drag.high, "basis": tree.drag.basis},
        "crown": _crown(tree, result),
        "computed_up_to_m": highest_m(tree),
        "torsion_knm": result.crown_force_kn * tree.offset_m,
    }
    if tree.reduction is not None:
        out["reduction"] = [_after(tree, result, years) for years in tree.reduction.years]
    out["overturning"] = _overturning(species)
    out |= {"notes": _notes(tree, result), "method": METHOD, "version": VERSION}
    rounded: dict[str, Any] = _rounded(out)
    return rounded


def _gust(speed_m_s: float) -> float | str:
    return f">{FASTEST_M_S:g}" if speed_m_s > FASTEST_M_S else speed_m_s


def _row(row: Row) -> dict[str, Any]:
    low, best, high = (min(value, MOST) for value in row.safety)
    return {
        "height_m": row.height_m,
        "basis": row.basis,
        "diameter_cm": row.diameter_cm,
        "modulus_cm3": row.modulus_cm3,
        "loss_percent": 100 * row.loss.best,
        "moment_knm": row.moment_knm,
        "wind_moment_knm": row.wind_knm,
        "standing_moment_knm": row.standing_knm,
        "bending_mpa": row.bending_mpa,
        "axial_mpa": row.axial_mpa,
        "stress_mpa": row.stress_mpa,
        "safety_factor": {"low": low, "best": best, "high": high},
        "rupture_factor": None if row.rupture_factor is None else min(row.rupture_factor, MOST),
    }


def _wind(tree: Tree) -> dict[str, Any]:
    wind = tree.wind
    return {
        "v10_m_s": wind.v10_m_s,
        "averaging": wind.averaging,
        "exponent": wind.exponent,
        "gust_v10_m_s": wind.gust_v10_m_s,
        "toward_deg": tree.wind_toward_deg,
    }


def _strength(tree: Tree) -> dict[str, Any]:
    found = tree.strength
    return {
        "compression_mpa": found.compression_mpa,
        "rupture_mpa": found.rupture_mpa,
        "data_set": found.data_set,
        "basis": found.basis,
        "source": found.source,
        "variation_percent": 100 * found.variation,
    }


def _crown(tree: Tree, result: Result) -> dict[str, Any]:
    return {
        "area_m2": float(result.crown.area_m2[0]),
        "shape": tree.shape,
        "force_kn": result.crown_force_kn,
        "mass_kg": tree.weight.crown_kg,
    }


def _after(tree: Tree, before: Result, years: float) -> dict[str, Any]:
    after = after_reduction(tree, years)
    low, best, high = after.critical_gust_m_s(tree)
    base = [_at_ground(tree, result) for result in (before, after)]
    return {
        "years": years,
        "height_m": float(after.crown.top_m[0]),
        "crown_area_m2": float(after.crown.area_m2[0]),
        "ground_moment_reduced_percent": 100 * (1 - base[1] / base[0]) if base[0] else 0.0,
        "weakest_height_m": after.weakest.height_m,
        "safety_factor": dict(zip(("low", "best", "high"), (min(v, MOST) for v in after.weakest.safety), strict=True)),
        "critical_gust_m_s": _gust(best),
        "critical_gust": {"low": _gust(low), "high": _gust(high)},
    }


def _at_ground(tree: Tree, result: Result) -> float:
    return float(moment_knm(result.crown, tree.wind, 0.0)[0])


def _overturning(species: str) -> dict[str, Any] | None:
    if not species:
        return None
    wood = find(species)
    found = overturning.of(wood.key, wood.genus) or overturning.of(key(species), wood.genus)
    if found is None:
        return None
    note = (
        "Ratio to the median of 267 pulling tests of nine taxa (codes of the data read by us), scaled by tree size: "
        "spread only, no resistance."
    )
    return {**found, "note": note}


def _notes(tree: Tree, result: Result) -> list[str]:
    notes = [*NOTES, *tree.notes]
    if tree.wind.averaging == "10min":
        notes.append("The gust of the ten-minute mean follows EN 1991-1-4 (1 + 7 x turbulence intensity), from memory.")
    if tree.offset_m:
        notes.append("The crown's offset twists the stem: torsion_knm is the greatest, and is not in the stress.")
    if any(place.section is not None and len(place.section.bounds.pieces) > 1 for place in tree.places):
        notes.append("A parted section bends as separate pieces here; a piece that carries its load alone is worse.")
    if tree.reduction is not None:
        notes.append(
            f"The reduction's effect fades as the crown grows back by {tree.reduction.regrowth_m_per_year:g} m a year "
            "in length and at each side; the default of 0.5 m is common practice, no source."
        )
    if any(math.isinf(value) for value in result.weakest.safety):
        notes.append("There is no load to speak of: factors are cut off at 999.")
    return notes


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _rounded(item) for name, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return float(f"{value:.6g}") if isinstance(value, float) else value
