"""Strength, drag and weight of a tree from its request: as given, else from the wood tables, each marked."""

from collections.abc import Mapping
from typing import Final

from assessments.methods.problems import MethodProblem
from assessments.methods.request import Fields
from assessments.methods.wood import DATA_SETS, Strength, Wood, strength_of
from assessments.methods.wood.biomass import dry_mass
from assessments.methods.wood.drag import BAND, Drag, drag_of
from assessments.methods.wood.tables import scatter

from .taper import Stem
from .tree import Weight

METHOD: Final = "stem_load_material"
VERSION: Final = 1


def strength(fields: Fields, wood: Wood | None, notes: list[str]) -> Strength:
    """Give the green strength: as given, else of the species by the data set asked for. Raises MethodProblem."""
    data_set = fields.choice("strength_from", DATA_SETS, "auto")
    given, rupture = (fields.maybe(f"{name}_mpa", 1, 300) for name in ("compression", "rupture"))
    if given is not None:
        return Strength(given, rupture, "given", "given", "given in the request", scatter()["compression"])
    if wood is None:
        raise MethodProblem("/species", "is missing: give it, or compression_mpa with the other properties")
    if rupture is not None:
        raise fields.wrong("rupture_mpa", "is given without compression_mpa")
    found = strength_of(wood, data_set)
    if found is None:
        raise fields.wrong("strength_from", f"has neither the species nor its genus: {data_set}")
    notes.extend(found.notes)
    return found


def drag(fields: Fields, wood: Wood | None, notes: list[str]) -> Drag:
    """Give the drag coefficient on still-air area: as given, else of species or genus; leafless where it says so."""
    given = fields.raw("drag_coefficient")
    if given is None:
        found = drag_of(wood.key, wood.genus) if wood else drag_of("", "")
    elif isinstance(given, Mapping):
        parts = fields.inner("drag_coefficient", ("low", "best", "high"))
        low, best, high = (parts.number(name, 0, 2, above=True) for name in ("low", "best", "high"))
        if not low <= best <= high:
            raise fields.wrong("drag_coefficient", "must have low <= best <= high")
        found = Drag(low, best, high, "given")
    else:
        best = fields.number("drag_coefficient", 0, 2, above=True)
        found = Drag(best * BAND[0], best, best * BAND[1], "given")
    bare = not fields.flag("in_leaf", True) and given is None
    found = found.leafless() if bare else found
    notes.extend(found.notes)
    return found


def weight(fields: Fields, wood: Wood | None, stem: Stem, notes: list[str]) -> Weight:
    """Give stem density and crown mass: as given, else from the wood tables and Jenkins et al. 2003."""
    density = fields.maybe("green_density_kg_m3", 100, 2000)
    if density is None:
        known = (wood.green_with_bark_kg_m3 or wood.green_kg_m3) if wood else None
        if known is None:
            raise fields.wrong("green_density_kg_m3", "is missing, and no green density of the species is known")
        density = known.value
    crown = fields.maybe("crown_mass_kg", 0, 1e6)
    if crown is None:
        crown = _crown_kg(fields, wood, stem, notes)
    return Weight(density, crown)


def _crown_kg(fields: Fields, wood: Wood | None, stem: Stem, notes: list[str]) -> float:
    if wood is None or wood.moisture_percent is None:
        raise fields.wrong("crown_mass_kg", "is missing, and the tables cannot give it for this tree")
    dbh = float(stem.diameter_cm(1.3))
    dry = dry_mass(dbh, wood.biomass_group)
    leaves = dry.foliage_kg if fields.flag("in_leaf", True) else 0.0
    notes.append("Crown weight: branches and leaves after Jenkins et al. 2003, from forest trees; a rough figure.")
    if not dry.within_range:
        least, most = dry.range_cm
        notes.append(
            f"At dbh {dbh:.0f} cm crown weight is an extrapolation: the relation holds for {least:g} to {most:g} cm."
        )
    return (dry.branches_kg + leaves) * (1 + wood.moisture_percent.value / 100)
