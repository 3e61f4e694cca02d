"""Appraised value of a tree by the published trunk formula technique, in the words of its 9th and 10th editions.

Source: Council of Tree and Landscape Appraisers, Guide for Plant Appraisal, 9th ed. 2000 and 10th ed. 2018, from
memory; the 9th edition's arithmetic is confirmed by the worked data of McPherson 2007.
"""

import math
from dataclasses import dataclass
from typing import Any, Final

from .problems import MethodProblem
from .request import Fields

METHOD: Final = "trunk_formula_technique"
VERSION: Final = 1

EDITIONS: Final = ("9", "10")
CM_PER_IN: Final = 2.54
# Above it the 9th edition takes an adjusted trunk area; its parabola tops at the second, where it is held.
ADJUSTED_ABOVE_IN: Final = 30.0
ADJUSTED_TOP_IN: Final = 69.3 / (2 * 0.335)
MOST_AREA_CM2: Final = 1_200_000.0
MOST_MONEY: Final = 1e9
FACTORS: Final = {
    "9": ("species_percent", "condition_percent", "location_percent"),
    "10": ("condition_percent", "functional_percent", "external_percent"),
}
FIELDS: Final = (
    "edition", "dbh_cm", "trunk_area_cm2", "unit_cost_per_cm2", "replacement_area_cm2", "replacement_plant_cost",
    "replacement_cost", "species_percent", "condition_percent", "location_percent", "functional_percent",
    "external_percent",
)  # fmt: skip
ADVICE: Final = (
    "The formula's factors are the appraiser's judgement; species rating and unit cost come from the regional "
    "committee or the city. It is a cost approach: it says nothing of benefits, nor of what a court would award."
)


@dataclass(frozen=True)
class Appraisal:
    """An appraised value in money units. `basic_cost` before depreciation; `factors` the shares it was taken times."""

    edition: str
    trunk_area_cm2: float
    appraised_area_cm2: float
    unit_cost_per_cm2: float
    basic_cost: float
    factors: tuple[tuple[str, float], ...]
    value: float
    notes: tuple[str, ...] = ()
    method: str = METHOD
    version: int = VERSION


def trunk_area_cm2(dbh_cm: float) -> float:
    """Give the area of a round trunk.

    >>> round(trunk_area_cm2(20.0), 2)
    314.16
    """
    return math.pi / 4 * dbh_cm**2


def adjusted_area_in2(diameter_in: float) -> float:
    """Give the 9th edition's adjusted trunk area in square inches: the plain one up to 30 in, held at its top.

    >>> round(adjusted_area_in2(36.0), 1), round(adjusted_area_in2(120.0), 2)
    (973.6, 2496.95)
    """
    if diameter_in <= ADJUSTED_ABOVE_IN:
        return math.pi / 4 * diameter_in**2
    held = min(diameter_in, ADJUSTED_TOP_IN)
    return 0.335 * -(held**2) + 69.3 * held - 1087


def appraise_9th(
    trunk_area: float,
    unit_cost_per_cm2: float,
    replacement_area_cm2: float,
    replacement_cost: float,
    species: float,
    condition: float,
    location: float,
) -> Appraisal:
    """Appraise by the 9th edition: areas in cm2, shares as fractions; (area - replacement area) x unit cost + cost.

    `replacement_cost`: the largest transplantable tree, installed. Trunks above 30 in are adjusted.
    """
    diameter_in = 2 * math.sqrt(trunk_area / math.pi) / CM_PER_IN
    area, notes = trunk_area, []
    if diameter_in > ADJUSTED_ABOVE_IN:
        area = adjusted_area_in2(diameter_in) * CM_PER_IN**2
        notes.append(
            "Above 30 in (76.2 cm) the 9th edition takes an adjusted trunk area: from memory, discontinuous at 30 in"
            + (", held at its top of 103.4 in (263 cm)." if diameter_in > ADJUSTED_TOP_IN else ".")
        )
    if area < replacement_area_cm2:
        notes.append("The trunk is no larger than the replacement: the value is that of the replacement, depreciated.")
    basic = max(area - replacement_area_cm2, 0.0) * unit_cost_per_cm2 + replacement_cost
    factors = (("species", species), ("condition", condition), ("location", location))
    return _appraisal("9", trunk_area, area, unit_cost_per_cm2, basic, factors, notes)


def appraise_10th(
    trunk_area: float, unit_cost_per_cm2: float, condition: float, functional: float, external: float
) -> Appraisal:
    """Appraise by the 10th edition: trunk area x unit cost, depreciated by condition and limitations as fractions.

    >>> round(appraise_10th(20 * 20 * 0.78539816, 39.789, 0.65, 0.80, 0.90).value, 1)
    5850.0
    """
    basic = trunk_area * unit_cost_per_cm2
    factors = (("condition", condition), ("functional", functional), ("external", external))
    return _appraisal("10", trunk_area, trunk_area, unit_cost_per_cm2, basic, factors, [])


def _appraisal(
    edition: str,
    trunk_area: float,
    area: float,
    unit_cost: float,
    basic: float,
    factors: tuple[tuple[str, float], ...],
    notes: list[str],
) -> Appraisal:
    value = basic * math.prod(share for _, share in factors)
    return Appraisal(edition, trunk_area, area, unit_cost, basic, factors, value, tuple(notes))


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute an appraisal from a JSON request. Raises MethodProblem that names the wrong fields."""
    fields = Fields(request, "", FIELDS)
    edition = fields.choice("edition", EDITIONS, "10")
    for other in set(FACTORS["9"] + FACTORS["10"]) - set(FACTORS[edition]):
        if fields.has(other):
            raise fields.wrong(other, f"is no factor of edition {edition}; there are {', '.join(FACTORS[edition])}")
    area = _area(fields)
    shares = [fields.number(name, 0, 100) / 100 for name in FACTORS[edition]]
    if edition == "9":
        replaced = fields.number("replacement_area_cm2", 0, 5000, above=True)
        installed = fields.number("replacement_cost", 0, MOST_MONEY)
        found = appraise_9th(area, _unit_cost(fields), replaced, installed, *shares)
    else:
        if fields.has("replacement_cost"):
            raise fields.wrong("replacement_cost", "is of edition 9; edition 10 takes trunk area times unit cost")
        found = appraise_10th(area, _unit_cost(fields), *shares)
    return as_json(found)


def _area(fields: Fields) -> float:
    dbh = fields.maybe("dbh_cm", 0, 1200, above=True)
    area = fields.maybe("trunk_area_cm2", 0, MOST_AREA_CM2, above=True)
    if dbh is not None and area is not None:
        raise fields.wrong("trunk_area_cm2", "is given beside dbh_cm: give one")
    if dbh is None and area is None:
        raise MethodProblem("/dbh_cm", "is missing, and so is trunk_area_cm2")
    return trunk_area_cm2(dbh) if dbh is not None else area or 0.0


def _unit_cost(fields: Fields) -> float:
    """Unit cost per cm2, as given or from the replacement plant's cost over its trunk area."""
    if fields.has("unit_cost_per_cm2"):
        if fields.has("replacement_plant_cost"):
            raise fields.wrong("replacement_plant_cost", "is given beside unit_cost_per_cm2: give one")
        return fields.number("unit_cost_per_cm2", 0, 1e6, above=True)
    if not fields.has("replacement_plant_cost"):
        raise fields.wrong("unit_cost_per_cm2", "is missing, and so is replacement_plant_cost")
    plant = fields.number("replacement_plant_cost", 0, MOST_MONEY)
    return plant / fields.number("replacement_area_cm2", 0, 5000, above=True)


def as_json(found: Appraisal) -> dict[str, Any]:
    """Say an appraisal in the contract's words; money to hundredths."""
    return {
        "edition": found.edition,
        "value": round(found.value, 2),
        "basic_cost": round(found.basic_cost, 2),
        "trunk_area_cm2": round(found.trunk_area_cm2, 3),
        "appraised_area_cm2": round(found.appraised_area_cm2, 3),
        "unit_cost_per_cm2": found.unit_cost_per_cm2,
        "factors": [{"name": name, "percent": round(100 * share, 6)} for name, share in found.factors],
        "notes": [ADVICE, *found.notes],
        "method": METHOD,
        "version": VERSION,
    }
