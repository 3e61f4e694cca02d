"""The calculations `log-mass` and `support`: their requests and answers as JSON Schema, with examples."""

from typing import Any, Final

from assessments.methods import log_mass, support
from assessments.methods.log_mass import MOST_SECTIONS, TALLEST_M, THICKEST_CM
from assessments.methods.support import ANCHORS, MOST_ITEMS, STEEPEST_DEG, STRANDS

from .kind import Kind, Worked
from .shapes import MAYBE, MAYBE_FLAG, MAYBE_TEXT, NUMBER, OBJECT, array, body, flag, gives, number, rows, text, word

LOG_INPUT: Final = body(
    {
        "species": text("Botanical name; give it, or green_density_kg_m3."),
        "green_density_kg_m3": number(100, 2000, "Of green wood with bark."),
        "sections": array(
            body(
                {
                    "height_m": number(0, TALLEST_M, needed=True),
                    "diameter_cm": number(0, THICKEST_CM, "Over bark.", above=True, needed=True),
                    "void_area_cm2": number(0, 1e7),
                },
                ["height_m", "diameter_cm"],
            ),
            MOST_SECTIONS,
            "Diameters along the log; straight taper between them.",
            least=2,
            needed=True,
        ),
        "limit_kg": number(0, 1e6, "Each piece stays under it, the density margin included.", above=True),
        "density_margin": number(0, 1, "Added to the density for the upper mass; 0.15 without it."),
        "dbh_cm": number(0, THICKEST_CM, "Gives brush and chips too, for a species of the table.", above=True),
    },
    ["sections"],
)
LOG_OUTPUT: Final = gives(
    {
        "total_kg": NUMBER,
        "upper_total_kg": NUMBER,
        "volume_m3": NUMBER,
        "green_density_kg_m3": NUMBER,
        "pieces": rows(from_m=NUMBER, to_m=NUMBER, mass_kg=NUMBER, upper_kg=NUMBER),
        "brush": OBJECT,
    },
    ["brush"],
)
LOG_EXAMPLE: Final[dict[str, Any]] = {
    "species": "Acer saccharinum",
    "sections": [
        {"height_m": 1.0, "diameter_cm": 70, "void_area_cm2": 400},
        {"height_m": 5.0, "diameter_cm": 58},
        {"height_m": 9.0, "diameter_cm": 40},
    ],
    "limit_kg": 400,
}
_LEADER: Final = body(
    {
        "moment_knm": number(0, 1e5, "Of wind and lean at the union.", needed=True),
        "angle_deg": number(0, STEEPEST_DEG, "Between cable and the perpendicular of the leader."),
        "arm_m": number(0, 100, "Without it the attachment's height above the union.", above=True),
    },
    ["moment_knm"],
)
_COMPONENT: Final = body(
    {
        "name": text(),
        "strand": word(STRANDS),
        "breaking_kn": number(0, 1e4, above=True),
        "working_kn": number(0, 1e4, above=True),
    }
)
_ANCHOR: Final = body(
    {
        "limb_diameter_cm": number(0, 500, above=True, needed=True),
        "sound_wood_cm": number(0, 500, "Along the anchor.", needed=True),
        "type": word(ANCHORS),
        "in_decay": flag("Whether the anchor would sit in decayed wood.", default=False),
    },
    ["limb_diameter_cm", "sound_wood_cm"],
)
_TABLE: Final = body(
    {
        "standard": text(needed=True),
        "limb_diameter_cm": number(0, 500, above=True, needed=True),
        "rows": array(
            body(
                {"limb_to_cm": number(0, 500, above=True, needed=True), "size": text(needed=True)},
                ["limb_to_cm", "size"],
            ),
            MOST_ITEMS,
            least=1,
            needed=True,
        ),
    },
    ["standard", "limb_diameter_cm", "rows"],
    "The table of a standard that you hold.",
    null=True,
)
SUPPORT_INPUT: Final = body(
    {
        "union_height_m": number(0, 100, needed=True),
        "crown_top_m": number(0, 120, needed=True),
        "attachment_height_m": number(0, 120, "Without it the rule's height."),
        "leaders": array(_LEADER, 2, "The two leaders that the cable holds.", least=1, needed=True),
        "components": array(_COMPONENT, MOST_ITEMS, "Strand, termination, anchor: the weakest governs."),
        "anchors": array(_ANCHOR, MOST_ITEMS),
        "table": _TABLE,
    },
    ["union_height_m", "crown_top_m", "leaders"],
)
SUPPORT_OUTPUT: Final = gives(
    {
        "attachment_height_m": NUMBER,
        "rule_height_m": NUMBER,
        "leaders": rows(tension_kn=NUMBER),
        "governing_leader": {"type": "integer"},
        "tension_kn": NUMBER,
        "weakest_component": MAYBE_TEXT,
        "working_load_kn": MAYBE,
        "utilisation": MAYBE,
        "within_working_load": MAYBE_FLAG,
        "anchors": rows(allowed={"type": "boolean"}, reason={"type": "string"}),
        "table": OBJECT,
    },
    ["table"],
)
SUPPORT_EXAMPLE: Final[dict[str, Any]] = {
    "union_height_m": 5,
    "crown_top_m": 20,
    "leaders": [{"moment_knm": 50, "angle_deg": 20}, {"moment_knm": 40, "angle_deg": 15}],
    "components": [{"strand": "ehs_5_16"}, {"name": "termination", "working_kn": 12}, {"name": "rod", "working_kn": 9}],
    "anchors": [{"limb_diameter_cm": 32, "sound_wood_cm": 24}],
}

LOG_MASS: Final = Kind(
    name="log-mass",
    title="Mass of a log and its pieces",
    about="Mass of a log, and the pieces from the top that stay under a lifting limit.",
    work=lambda request: Worked(log_mass.compute(request)),
    input=LOG_INPUT,
    output=LOG_OUTPUT,
    example=LOG_EXAMPLE,
    cautions=("Static mass only: forces on rope and anchor while a piece is caught are several times larger.",),
)
SUPPORT: Final = Kind(
    name="support",
    title="Support of a union by a cable",
    about="Height of the attachment and static tension of a cable, against its weakest component.",
    work=lambda request: Worked(support.compute(request)),
    input=SUPPORT_INPUT,
    output=SUPPORT_OUTPUT,
    example=SUPPORT_EXAMPLE,
    cautions=("Snatch and sway, which can be several times larger, are not covered.",),
)
