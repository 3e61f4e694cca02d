"""Sizes, canopy and carbon of one tree now and over a horizon, from a JSON request."""

from typing import Any, Final

from assessments.methods.request import Fields

from .biomass import CO2_PER_CARBON, ESTIMATORS, Carbon, carbon
from .course import LONGEST_YEARS, Grower, Stand, crown_area_m2, stand
from .predict import REGIONS, Size, age_years, predict

METHOD: Final = "growth_canopy_and_carbon"
VERSION: Final = 1

OLDEST_YEARS: Final = 1000.0
THICKEST_CM: Final = 1200.0
FIELDS: Final = (
    "species", "family", "evergreen", "conifer", "region", "age_years", "dbh_cm", "height_m", "crown_width_m",
    "estimator", "horizon_years",
)  # fmt: skip
NOTES: Final = (
    "Low and high hold 80 % of the single trees that an equation was fitted to; the tree asked for may differ more.",
    "The equations are of American cities: elsewhere they are a first estimate only.",
)


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute sizes, canopy and carbon from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> compute({"species": "Fraxinus pennsylvanica", "region": "NoEast", "dbh_cm": 40})["sizes"][1]["best"]
    13.946
    """
    fields = Fields(request, "", FIELDS)
    species, region = fields.text("species"), fields.choice("region", REGIONS, "")
    conifer = fields.flag("conifer") if fields.has("conifer") else None
    dbh, first = _dbh(fields, species, region, conifer)
    width = fields.maybe("crown_width_m", 0, 80, above=True)
    family = fields.text("family") if fields.has("family") else ""
    tree = Grower(species, dbh, width, region, family, fields.flag("evergreen"), conifer)
    years = _whole(fields, "horizon_years")
    height = fields.maybe("height_m", 0, 120, above=True)
    sizes = [predict(kind, species, dbh, region, conifer=conifer) for kind in _KINDS]
    mass = carbon(
        species, dbh, height_m=height, family=family, evergreen=tree.evergreen,
        estimator=fields.choice("estimator", ESTIMATORS, ""),
    )  # fmt: skip
    grown = stand(tree, max(years, 1))
    return {
        "dbh_cm": round(dbh, 3),
        "sizes": [_size(one) for one in (first, *sizes)],
        "canopy_m2": round(crown_area_m2(width or sizes[1].value), 3),
        **_carbon(mass),
        "uptake_kg_a_year": round(grown.uptake_kg_a_year[0], 3),
        "years": _years(grown, years),
        "notes": list(dict.fromkeys([*NOTES, *first.notes, *(n for s in sizes for n in s.notes), *mass.notes,
                                     *grown.notes])),
        "method": METHOD,
        "version": VERSION,
    }  # fmt: skip


_KINDS: Final = ("height_from_dbh", "crown_from_dbh", "leaf_area_from_dbh")


def _dbh(fields: Fields, species: str, region: str, conifer: bool | None) -> tuple[float, Size]:
    """Give dbh in cm as given or from age, and the size that was worked out: the age, or the dbh."""
    if fields.has("dbh_cm") and fields.has("age_years"):
        raise fields.wrong("age_years", "is given beside dbh_cm: give one")
    if fields.has("age_years"):
        found = predict("dbh_from_age", species, fields.number("age_years", 0, OLDEST_YEARS), region, conifer=conifer)
        return found.value, found
    dbh = fields.number("dbh_cm", 0, THICKEST_CM, above=True)
    return dbh, age_years(species, dbh, region, conifer=conifer)


def _whole(fields: Fields, name: str) -> int:
    value = fields.number(name, 0, LONGEST_YEARS) if fields.has(name) else 0.0
    if value != int(value):
        raise fields.wrong(name, "must be a whole number")
    return int(value)


_SAID: Final = {
    "age_from_dbh": "age", "dbh_from_age": "dbh", "height_from_dbh": "height", "crown_from_dbh": "crown_width",
    "leaf_area_from_dbh": "leaf_area",
}  # fmt: skip


def _size(one: Size) -> dict[str, Any]:
    return {
        "what": _SAID[one.kind],
        "best": one.value,
        "low": one.low,
        "high": one.high,
        "unit": one.unit,
        "basis": one.basis,
        "equation": one.equation,
        "outside_range": one.outside,
    }


def _carbon(mass: Carbon) -> dict[str, Any]:
    return {
        "dry_above_ground_kg": round(mass.dry_above_ground_kg, 2),
        "carbon_kg": round(mass.carbon_kg, 2),
        "least_carbon_kg": round(mass.low_kg, 2),
        "most_carbon_kg": round(mass.high_kg, 2),
        "co2_kg": round(mass.carbon_kg * CO2_PER_CARBON, 2),
        "estimator": mass.estimator,
        "estimates": [
            {"estimator": e.estimator, "dry_kg": round(e.dry_kg, 2), "outside_range": e.outside, "source": e.source}
            for e in mass.estimates
        ],
    }


def _years(grown: Stand, years: int) -> list[dict[str, float]]:
    return [
        {
            "year": year,
            "dbh_cm": round(grown.dbh_cm[year], 2),
            "canopy_m2": round(grown.canopy_m2[year], 2),
            "carbon_kg": round(grown.carbon_kg[year], 2),
        }
        for year in range(years + 1 if years else 0)
    ]
