"""The calculation `section`: its request and answer as JSON Schema, an example, how it is computed and drawn."""

from typing import Any, Final

from assessments.methods import section as method
from assessments.methods import tables
from assessments.methods.section.contract import (
    DEFAULT_DRAWS,
    LARGEST_CM,
    MOST_DRAWS,
    MOST_PARTS,
    MOST_READINGS,
    MOST_VERTICES,
)
from assessments.report.drawing import section as drawing

from .kind import Kind, Worked
from .shapes import FLAG, MAYBE, NUMBER, OBJECT, array, body, gives, number, parts, whole, word

_POINT: Final = {"type": "array", "items": number(-1e5, 1e5, needed=True), "minItems": 2, "maxItems": 2}
_RING: Final = {"type": "array", "items": _POINT, "minItems": 3, "maxItems": MOST_VERTICES}
_AZIMUTH: Final = number(0, 360, "Clockwise from north.", needed=True)
_READING: Final = body(
    {
        "azimuth_deg": _AZIMUTH,
        "sound_wall_cm": number(0, 2 * LARGEST_CM, "Sound wood from the surface without bark inward.", needed=True),
        "void_to_cm": number(0, 2 * LARGEST_CM, "Depth where sound wood begins again."),
        "error_cm": number(0, 100, "Standard deviation of the reading; without it that of the method."),
        "method": word([row["method"] for row in tables.read("reading_errors")]),
    },
    ["azimuth_deg", "sound_wall_cm"],
)
_OPENING: Final = body(
    {
        "azimuth_deg": _AZIMUTH,
        "width_cm": number(0, LARGEST_CM, "Straight gap at the wood's surface.", above=True, needed=True),
        "depth_cm": number(0, LARGEST_CM, "Without it the opening runs to the void.", above=True),
    },
    ["azimuth_deg", "width_cm"],
)
_CRACK: Final = body(
    {
        "azimuth_deg": _AZIMUTH,
        "gap_to_edge_cm": number(0, LARGEST_CM, "Sound wood between crack and surface.", needed=True),
        "inner_radius_cm": number(0, LARGEST_CM, "Inner end of the crack from the centroid.", needed=True),
    },
    ["azimuth_deg", "gap_to_edge_cm", "inner_radius_cm"],
)

INPUT: Final = body(
    {
        "diameter_cm": number(0, LARGEST_CM, "Over bark; give it, girth_cm or outline_cm.", above=True),
        "girth_cm": number(0, LARGEST_CM * 3.141592653589793, "Over bark.", above=True),
        "outline_cm": _RING | {"type": ["array", "null"], "description": "Over bark, x east and y north."},
        "bark_cm": number(0, 50, "Single thickness, taken off first."),
        "height_m": number(0, 150, "Height of the section above ground."),
        "readings": array(_READING, MOST_READINGS, "The wall is linear over azimuth between them."),
        "openings": array(_OPENING, MOST_PARTS),
        "voids_cm": array(_RING, MOST_PARTS, "Voids as rings of [x, y]."),
        "cracks": array(_CRACK, MOST_PARTS),
        "draws": whole(0, MOST_DRAWS, "Draws of the interval.", default=DEFAULT_DRAWS),
        "seed": whole(0, 2**63 - 1, "The same seed gives the same interval.", default=1),
    }
)
_LOSS: Final = parts(best_estimate=NUMBER, low=NUMBER, high=NUMBER, low95=NUMBER, high95=NUMBER)
OUTPUT: Final = gives(
    {
        "gross_area_cm2": NUMBER,
        "sound_area_cm2": NUMBER,
        "thinnest_wall_cm": NUMBER,
        "open": FLAG,
        "closed": FLAG,
        "t_over_r": NUMBER,
        "modulus": parts(worst_cm3=NUMBER, worst_azimuth_deg=NUMBER, intact_cm3=NUMBER, loss_percent=_LOSS),
        "largest_loss": parts(percent=NUMBER, azimuth_deg=NUMBER),
        "compression_azimuth_deg": NUMBER,
        "torsional_stiffness_ratio": MAYBE,
        "rules": parts(wagener=OBJECT, coder=OBJECT, smiley_fraedrich=OBJECT, t_over_r=OBJECT),
        "pieces": {"type": "integer"},
    },
    ["torsional_stiffness_ratio"],
)
EXAMPLE: Final[dict[str, Any]] = {
    "diameter_cm": 84,
    "bark_cm": 2,
    "height_m": 1.3,
    "readings": [
        {"azimuth_deg": 0, "sound_wall_cm": 15, "method": "drilling"},
        {"azimuth_deg": 90, "sound_wall_cm": 9, "method": "drilling"},
        {"azimuth_deg": 180, "sound_wall_cm": 12, "method": "drilling"},
        {"azimuth_deg": 270, "sound_wall_cm": 18, "method": "drilling"},
    ],
    "openings": [{"azimuth_deg": 100, "width_cm": 10}],
}


def work(request: Any) -> Worked:
    """Compute a section. Raises MethodProblem."""
    found = method.assess(method.read(request))
    return Worked(method.as_json(found), lambda: drawing.draw(found))


KIND: Final = Kind(
    name="section",
    title="Section of a stem",
    about="What decay, cavities, openings and cracks leave of a stem's strength in bending, with its interval.",
    work=work,
    input=INPUT,
    output=OUTPUT,
    example=EXAMPLE,
    cautions=(
        "Plane bending only: shear along the grain, torsion, buckling of a thin shell and a piece that carries its "
        "load alone lie outside.",
    ),
    drawn=True,
)
