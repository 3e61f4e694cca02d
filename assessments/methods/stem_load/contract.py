"""The JSON request of a stem load, read strictly into a Tree; defaults that stand in are named in the tree's notes."""

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from statistics import fmean
from typing import Final

from assessments.methods.problems import MethodProblem, number
from assessments.methods.request import Fields, beneath
from assessments.methods.section import assess
from assessments.methods.section import read as read_section
from assessments.methods.wind import AVERAGING, EXPONENTS, SHAPES, Wind
from assessments.methods.wind.profile import DEFAULT_V10_M_S
from assessments.methods.wood import Wood, find
from assessments.methods.wood.tables import rows_of

from .check import highest_m
from .material import drag, strength, weight
from .taper import DEFAULT_EXPONENT, Stem
from .tree import Loss, Place, Reduction, Tree

METHOD: Final = "stem_load_request"
VERSION: Final = 1

TALLEST_M: Final = 120.0
THICKEST_CM: Final = 1200.0
MOST_SECTIONS: Final = 40
MOST_OF_SOUND: Final = 1.02
# Each takes up to a second where cracks are drawn.
MOST_COMPUTED: Final = 12
MOST_WIDTHS: Final = 16
WIDEST_M: Final = 80.0
MOST_YEARS: Final = 30
DEFAULT_DIAMETER_HEIGHT_M: Final = 1.3
# Growth of shoots after a reduction: common practice, no source; a city should set its own.
DEFAULT_REGROWTH_M: Final = 0.5
DEFAULT_YEARS: Final = (0.0, 1.0, 3.0, 5.0, 10.0)
FIELDS: Final = (
    "species", "height_m", "crown_base_m", "crown_width_m", "crown_widths_m", "crown_shape", "in_leaf",
    "drag_coefficient", "dbh_cm", "diameter_height_m", "bark_cm", "diameters", "taper_exponent", "lean",
    "crown_offset", "crown_mass_kg", "green_density_kg_m3", "compression_mpa", "rupture_mpa", "strength_from", "wind",
    "sections", "heights_m", "reduction",
)  # fmt: skip
SECTION_FIELDS: Final = ("height_m", "diameter_cm", "loss_percent", "modulus_cm3", "section")


@cache
def habits() -> dict[str, str]:
    """Crown shape by genus in lower case: common practice, no source."""
    return {row["genus"]: row["shape"] for row in rows_of(Path(__file__).parent / "habits.csv")}


def read(request: object) -> Tree:
    """Read a request into a tree. Raises MethodProblem that names the wrong fields.

    >>> read({"species": "Tilia cordata", "height_m": 18, "crown_base_m": 4, "crown_width_m": 9, "dbh_cm": 50}).shape
    'egg'
    """
    fields = Fields(request, "", FIELDS)
    height = fields.number("height_m", 1, TALLEST_M)
    base = fields.number("crown_base_m", 0, TALLEST_M)
    if base >= height:
        raise fields.wrong("crown_base_m", "must be less than height_m")
    notes: list[str] = []
    wood = find(fields.text("species")) if fields.has("species") else None
    genus = wood.genus if wood else ""
    stem = _stem(fields, height, wood, notes)
    places = _places(fields, height, stem)
    lean, offset = fields.inner("lean", ("angle_deg", "azimuth_deg")), _offset(fields)
    wind, toward = _wind(fields.inner("wind", ("v10_m_s", "averaging", "exponent", "toward_deg")))
    tree = Tree(
        stem=_through(stem, places),
        height_m=height,
        crown_base_m=base,
        crown_width_m=_width(fields),
        shape=_shape(fields, genus, notes),
        drag=drag(fields, wood, notes),
        strength=strength(fields, wood, notes),
        weight=weight(fields, wood, stem, notes),
        wind=wind,
        wind_toward_deg=toward,
        lean_deg=lean.maybe("angle_deg", 0, 60) or 0.0,
        lean_azimuth_deg=lean.maybe("azimuth_deg", 0, 360) or 0.0,
        offset_m=offset[0],
        offset_azimuth_deg=offset[1],
        places=tuple(place for place, _ in places),
        reduction=_reduction(fields),
        genus=genus,
        notes=(*(wood.notes if wood else ()), *notes),
    )
    _check_heights(fields, tree)
    return tree


def _check_heights(fields: Fields, tree: Tree) -> None:
    """Refuse heights where nothing is known: there a rule says so instead of answering."""
    top = highest_m(tree)
    for name in ("sections", "heights_m"):
        for index, item in enumerate(fields.raw(name) or ()):
            height = item["height_m"] if name == "sections" else item
            if height > top:
                where = f"/{name}/{index}" + ("/height_m" if name == "sections" else "")
                raise MethodProblem(where, f"lies above {top:g} m, where neither one stem carries nor was measured")
    for index, place in enumerate(tree.places):
        sound = float(tree.stem.modulus_cm3(place.height_m))
        if place.modulus_cm3 is not None and place.modulus_cm3 > sound * MOST_OF_SOUND:
            detail = f"is more than that of the sound stem there ({sound:.0f} cm3): give diameter_cm"
            raise MethodProblem(f"/sections/{index}/modulus_cm3", detail)


def _offset(fields: Fields) -> tuple[float, float]:
    offset = fields.inner("crown_offset", ("distance_m", "azimuth_deg"))
    return offset.maybe("distance_m", 0, 30) or 0.0, offset.maybe("azimuth_deg", 0, 360) or 0.0


def _wind(fields: Fields) -> tuple[Wind, float | None]:
    averaging = fields.choice("averaging", AVERAGING, "3s")
    speed = fields.maybe("v10_m_s", 1, 120)
    exponent = fields.maybe("exponent", 0, 1)
    wind = Wind(
        DEFAULT_V10_M_S if speed is None else speed,
        averaging,
        EXPONENTS["suburb", averaging] if exponent is None else exponent,
    )
    return wind, fields.maybe("toward_deg", 0, 360)


def _width(fields: Fields) -> float:
    if not fields.has("crown_widths_m"):
        return fields.number("crown_width_m", 0, WIDEST_M, above=True)
    if fields.has("crown_width_m"):
        raise fields.wrong("crown_widths_m", "is given beside crown_width_m: give one")
    # Mean of the axes measured, as crown diameter is defined.
    return fmean(
        fields.items(
            "crown_widths_m", MOST_WIDTHS, lambda width, at: number(width, at, 0, WIDEST_M, above=True), least=1
        )
    )


def _shape(fields: Fields, genus: str, notes: list[str]) -> str:
    if not fields.has("crown_shape"):
        notes.append("The crown's side view is taken from the habit of the genus: common practice, no source.")
    return fields.choice("crown_shape", SHAPES, habits().get(genus, "ellipse"))


def _stem(fields: Fields, height: float, wood: Wood | None, notes: list[str]) -> Stem:
    at = fields.maybe("diameter_height_m", 0, 3)
    points = dict(fields.items("diameters", MOST_SECTIONS, lambda value, at: _diameter(value, at, height)))
    if fields.has("dbh_cm") or not points:
        points[DEFAULT_DIAMETER_HEIGHT_M if at is None else at] = fields.number("dbh_cm", 0, THICKEST_CM, above=True)
    if max(points) >= height:
        raise fields.wrong("height_m", "must be more than the height of every diameter")
    exponent = fields.maybe("taper_exponent", 0.3, 2)
    if len(points) == 1:
        notes.append(
            "Only one diameter was measured: the others follow Ormerod's bole model, a cone unless taper_exponent says "
            "otherwise; a diameter at the crown's base betters the weakest height most."
        )
    first = points[min(points)]
    return Stem(
        height,
        tuple(sorted(points.items())),
        DEFAULT_EXPONENT if exponent is None else exponent,
        _wood_share(fields, first, wood, notes),
    )


def _diameter(value: object, pointer: str, height: float) -> tuple[float, float]:
    item = Fields(value, pointer, ("height_m", "diameter_cm"))
    at, diameter = item.number("height_m", 0, TALLEST_M), item.number("diameter_cm", 0, THICKEST_CM, above=True)
    if at >= height:
        raise item.wrong("height_m", "must be less than the tree's height")
    return at, diameter


def _wood_share(fields: Fields, diameter: float, wood: Wood | None, notes: list[str]) -> float:
    bark = fields.maybe("bark_cm", 0, 50)
    if bark is not None:
        if 2 * bark >= diameter:
            raise fields.wrong("bark_cm", "leaves no wood")
        return 1 - 2 * bark / diameter
    volume = wood.bark_volume_percent if wood else None
    if volume is None:
        raise fields.wrong("bark_cm", "is missing, and no bark of the species is known")
    share = 1 / math.sqrt(1 + volume.value / 100)
    notes.append(f"Bark: {volume.value:g} % of the wood's volume ({volume.source}); measure bark_cm to better it.")
    return share


def _places(fields: Fields, height: float, stem: Stem) -> list[tuple[Place, float | None]]:
    """Heights to compute at, each with the diameter over bark that it brings."""
    given = fields.raw("sections")
    if isinstance(given, list) and sum(isinstance(item, dict) and "section" in item for item in given) > MOST_COMPUTED:
        raise fields.wrong("sections", f"has more than {MOST_COMPUTED} with a section to compute")
    found = list(fields.items("sections", MOST_SECTIONS, lambda value, at: _place(value, at, height, stem)))
    more = fields.items("heights_m", MOST_SECTIONS, lambda value, at: number(value, at, 0, TALLEST_M))
    taken = {place.height_m for place, _ in found}
    if len(taken) < len(found):
        raise fields.wrong("sections", "has two sections at one height")
    for index, extra in enumerate(more):
        if extra >= height:
            raise MethodProblem(f"/heights_m/{index}", "must be less than height_m")
    return found + [(Place(extra), None) for extra in sorted(set(more) - taken)]


def _place(value: object, pointer: str, height: float, stem: Stem) -> tuple[Place, float | None]:
    item = Fields(value, pointer, SECTION_FIELDS)
    at = item.number("height_m", 0, TALLEST_M)
    if at >= height:
        raise item.wrong("height_m", "must be less than the tree's height")
    given = [name for name in SECTION_FIELDS[2:] if item.has(name)]
    if len(given) > 1:
        raise item.wrong(given[1], f"is given beside {given[0]}: give one")
    diameter = item.maybe("diameter_cm", 0, THICKEST_CM, above=True)
    if item.has("section"):
        return _computed(item, at, stem)
    modulus = item.maybe("modulus_cm3", 0, 1e9, above=True)
    loss = _loss(item) if item.has("loss_percent") else None
    return Place(at, loss, modulus), diameter


def _computed(item: Fields, at: float, stem: Stem) -> tuple[Place, float]:
    try:
        answer = assess(read_section(item.raw("section")))
    except MethodProblem as problem:
        raise beneath(item.at("section"), problem) from problem
    return Place(at, section=answer), 2 * answer.section.outline.radius_cm / stem.wood_share


def _loss(item: Fields) -> Loss:
    if not isinstance(item.raw("loss_percent"), Mapping):
        only = item.number("loss_percent", 0, 99.9) / 100
        return Loss(only, only, only)
    parts = item.inner("loss_percent", ("low", "best", "best_estimate", "high", "low95", "high95"))
    name = "best_estimate" if parts.has("best_estimate") else "best"
    low, best, high = (parts.number(part, 0, 99.9) / 100 for part in ("low", name, "high"))
    if not low <= best <= high:
        raise item.wrong("loss_percent", "must have low <= best <= high")
    return Loss(low, best, high)


def _through(stem: Stem, places: list[tuple[Place, float | None]]) -> Stem:
    """Let the stem pass through the diameters that came with sections; a section wins over a dbh at its height."""
    points = dict(stem.points) | {place.height_m: diameter for place, diameter in places if diameter}
    return replace(stem, points=tuple(sorted(points.items())))


def _reduction(fields: Fields) -> Reduction | None:
    if not fields.has("reduction"):
        return None
    item = fields.inner("reduction", ("length_percent", "width_percent", "regrowth_m_per_year", "years"))
    length, width = item.maybe("length_percent", 0, 90), item.maybe("width_percent", 0, 90)
    if length is None and width is None:
        raise item.wrong("length_percent", "is missing, and so is width_percent")
    growth = item.maybe("regrowth_m_per_year", 0, 5)
    years = item.items("years", MOST_YEARS, lambda value, at: number(value, at, 0, 100))
    growing = DEFAULT_REGROWTH_M if growth is None else growth
    return Reduction((length or 0.0) / 100, (width or 0.0) / 100, growing, tuple(sorted(set(years))) or DEFAULT_YEARS)
