"""The calculation `stem-load`: its request and answer as JSON Schema, an example, how it is computed and drawn."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from assessments.methods import stem_load as method
from assessments.methods.section.along_stem import along
from assessments.methods.stem_load import Tree
from assessments.methods.stem_load.answer import as_json
from assessments.methods.stem_load.contract import (
    MOST_SECTIONS,
    MOST_WIDTHS,
    MOST_YEARS,
    TALLEST_M,
    THICKEST_CM,
    WIDEST_M,
    read,
)
from assessments.methods.wind import AVERAGING, SHAPES
from assessments.methods.wood import DATA_SETS
from assessments.report.drawing import profile

from . import section
from .kind import Kind, Worked
from .shapes import MAYBE, NUMBER, OBJECT, array, body, either, flag, gives, number, parts, rows, text, word

_LOSS_PART: Final = number(0, 99.9, needed=True)
_LOSS: Final = either(
    number(0, 99.9),
    body(
        {
            "low": _LOSS_PART,
            "best": number(0, 99.9),
            "best_estimate": number(0, 99.9),
            "high": _LOSS_PART,
            "low95": {},
            "high95": {},
        },
        ["low", "high"],
    ),
    about="Loss of section modulus: one figure, or low, best and high.",
)
_PLACE: Final = body(
    {
        "height_m": number(0, TALLEST_M, needed=True),
        "diameter_cm": number(0, THICKEST_CM, "Over bark.", above=True),
        "loss_percent": _LOSS,
        "modulus_cm3": number(0, 1e9, above=True),
        "section": section.INPUT | {"type": ["object", "null"], "description": "A request of the kind `section`."},
    },
    ["height_m"],
)
_DRAG: Final = {"exclusiveMinimum": 0, "maximum": 2}
_DRAG_PART: Final = {"type": "number", **_DRAG}
INPUT: Final = body(
    {
        "species": text("Botanical name; wood, bark, drag and habit come from it where nothing else is given."),
        "height_m": number(1, TALLEST_M, needed=True),
        "crown_base_m": number(0, TALLEST_M, needed=True),
        "crown_width_m": number(0, WIDEST_M, "Give it, or crown_widths_m.", above=True),
        "crown_widths_m": array(
            number(0, WIDEST_M, above=True, needed=True), MOST_WIDTHS, "Axes; their mean counts.", least=1
        ),
        "crown_shape": word(SHAPES, "Side view of the crown."),
        "in_leaf": flag("Whether the crown is in leaf.", default=True),
        "drag_coefficient": either(
            {"type": ["number", "null"], **_DRAG},
            body({"low": _DRAG_PART, "best": _DRAG_PART, "high": _DRAG_PART}, ["low", "best", "high"]),
            about="On still-air area.",
        ),
        "dbh_cm": number(0, THICKEST_CM, "Over bark; give it, or diameters.", above=True),
        "diameter_height_m": number(0, 3, "Where dbh_cm was measured; 1.3 m without it."),
        "bark_cm": number(0, 50, "Single thickness."),
        "diameters": array(
            body(
                {
                    "height_m": number(0, TALLEST_M, needed=True),
                    "diameter_cm": number(0, THICKEST_CM, above=True, needed=True),
                },
                ["height_m", "diameter_cm"],
            ),
            MOST_SECTIONS,
            "Diameters over bark along the stem.",
        ),
        "taper_exponent": number(0.3, 2),
        "lean": body({"angle_deg": number(0, 60, "From the vertical."), "azimuth_deg": number(0, 360)}, null=True),
        "crown_offset": body({"distance_m": number(0, 30), "azimuth_deg": number(0, 360)}, null=True),
        "crown_mass_kg": number(0, 1e6),
        "green_density_kg_m3": number(100, 2000),
        "compression_mpa": number(1, 300, "Green, along the grain."),
        "rupture_mpa": number(1, 300),
        "strength_from": word(DATA_SETS),
        "wind": body(
            {
                "v10_m_s": number(1, 120, "At 10 m."),
                "averaging": word(AVERAGING),
                "exponent": number(0, 1),
                "toward_deg": number(0, 360, "Without it the worst direction."),
            },
            null=True,
        ),
        "sections": array(_PLACE, MOST_SECTIONS, "Heights to compute at, with what was measured there."),
        "heights_m": array(number(0, TALLEST_M, needed=True), MOST_SECTIONS, "More heights to compute at."),
        "reduction": body(
            {
                "length_percent": number(0, 90),
                "width_percent": number(0, 90),
                "regrowth_m_per_year": number(0, 5),
                "years": array(number(0, 100, needed=True), MOST_YEARS),
            },
            about="A crown reduction and its regrowth.",
            null=True,
        ),
    },
    ["height_m", "crown_base_m"],
)
_GUST: Final = {"type": ["number", "string"], "description": "m/s, 3-second gust at 10 m; '>45' beyond 45."}
_BAND: Final = parts(low=NUMBER, best=NUMBER, high=NUMBER)
OUTPUT: Final = gives(
    {
        "sections": rows(height_m=NUMBER, moment_knm=NUMBER, stress_mpa=NUMBER, safety_factor=_BAND),
        "weakest_height_m": NUMBER,
        "critical_gust_m_s": _GUST,
        "critical_gust": parts(low=_GUST, best=_GUST, high=_GUST),
        "wind": OBJECT,
        "strength": OBJECT,
        "drag": OBJECT,
        "crown": OBJECT,
        "torsion_knm": MAYBE,
        "reduction": {"type": "array", "items": OBJECT},
    },
    ["reduction", "torsion_knm"],
)
EXAMPLE: Final[dict[str, Any]] = {
    "species": "Tilia cordata",
    "height_m": 21,
    "crown_base_m": 4,
    "crown_width_m": 11,
    "dbh_cm": 62,
    "sections": [{"height_m": 1.0, "section": section.EXAMPLE | {"diameter_cm": 66}}],
    "wind": {"v10_m_s": 33, "averaging": "3s"},
    "reduction": {"length_percent": 15, "width_percent": 15},
}


def work(request: Any) -> Worked:
    """Compute a stem load. Raises MethodProblem."""
    tree = read(request)
    species = request.get("species")
    answer = as_json(tree, method.check(tree), species if isinstance(species, str) else "")
    return Worked(answer, drawing(tree))


def drawing(tree: Tree) -> Callable[[], str] | None:
    """Draw the stem's profile where sections were measured round the stem; else there is nothing to draw."""
    measured = [
        replace(place.section.section, height_m=place.height_m) for place in tree.places if place.section is not None
    ]
    if not measured:
        return None
    top = max(tree.crown_base_m, *(one.height_m or 0.0 for one in measured))
    return lambda: profile.draw(along(measured, [0.0, top]))


KIND: Final = Kind(
    name="stem-load",
    title="Wind load on a stem",
    about="Moment, stress and safety factor along the stem, its weakest height and the gust at which it fails.",
    work=work,
    input=INPUT,
    output=OUTPUT,
    example=EXAMPLE,
    cautions=("Static load on one stem: roots, unions, sway, torsion and shear lie outside.",),
    drawn=True,
)
