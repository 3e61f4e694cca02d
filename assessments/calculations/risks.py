"""The calculations `root-zone`, `decay-growth`, `likelihood` and `risk`: requests, answers and examples."""

from typing import Any, Final

from assessments.methods import decay_growth, evidence, risk, risk_answer, root_zone, tables
from assessments.methods.catalogue import FUNGUS_CONFIDENCE, KINDS, PARTS
from assessments.methods.decay_growth import contract as decay
from assessments.methods.decay_growth.answer import as_json as decay_json
from assessments.methods.decay_growth.choices import ROTS, WALLINGS
from assessments.methods.evidence import MOST_FINDINGS, MOST_MEASURES
from assessments.methods.root_zone import contract as roots
from assessments.methods.root_zone import us_multiple
from assessments.methods.root_zone.works import PLANES
from assessments.report.drawing import decay_band

from . import stem_load
from .kind import Kind, Worked
from .shapes import (
    MAYBE,
    MAYBE_OBJECT,
    MAYBE_TEXT,
    NUMBER,
    TEXT,
    TEXTS,
    Schema,
    array,
    body,
    either,
    flag,
    gives,
    number,
    text,
    whole,
    word,
)  # fmt: skip

_GEOJSON: Final = ("LineString", "Polygon", "MultiLineString", "MultiPolygon", "Feature", "FeatureCollection")
_EDITIONS: Final = sorted({edition for known in roots.EDITIONS.values() for edition in known})
_POSITION: Final = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 3}
_POINT: Final = body({"type": {"type": "string", "enum": ["Point"]}, "coordinates": _POSITION}, ["type", "coordinates"])
ROOT_INPUT: Final = body(
    {
        "dbh_cm": number(0, roots.THICKEST_CM, "Give it, or stems_cm.", above=True),
        "stems_cm": array(number(0, roots.THICKEST_CM, above=True, needed=True), roots.MOST_STEMS, least=1),
        "diameter_height_m": number(0, 3, "Where the diameter was measured."),
        "root_crown_diameter_cm": number(0, roots.THICKEST_CM, "Above the root crown; AS 4970 only.", above=True),
        "standard": word(roots.STANDARDS, needed=True),
        "edition": {"enum": [*_EDITIONS, *map(int, _EDITIONS), None], "description": "AS 4970: 2009 or 2025."},
        "tolerance": word(us_multiple.TOLERANCES, "Of the species to disturbance; us-multiple only."),
        "age_class": word(us_multiple.AGE_CLASSES, "us-multiple only."),
        "form": word(roots.FORMS, "Palm: palms, cycads and tree ferns, by AS 4970."),
        "crown_radius_m": number(0, 60, "Of a palm.", above=True),
        "location": either({"type": "null"}, _POSITION, _POINT, about="Centre of the stem."),
        "works": {
            "type": ["object", "null"],
            "properties": {"type": {"type": "string", "enum": list(_GEOJSON)}},
            "required": ["type"],
            "description": "GeoJSON: a geometry, a feature or a feature collection; overlaps count once.",
        },
        "works_width_m": number(0, 200, "Width of works given as lines.", above=True),
        "plane": word(PLANES, "lonlat: WGS 84 as GeoJSON says; metric: metres east and north in one plane."),
    },
    ["standard"],
)
ROOT_OUTPUT: Final = gives(
    {
        "standard": TEXT, "edition": TEXT, "radius_m": NUMBER, "area_m2": NUMBER, "combined_diameter_cm": MAYBE,
        "structural_radius_m": NUMBER, "encroached_percent": NUMBER, "encroached_m2": NUMBER, "nearest_m": NUMBER,
        "structural_zone_touched": {"type": ["boolean", "null"]}, "class": TEXT, "class_says": TEXT, "source": TEXT,
    },
    ["structural_radius_m", "encroached_percent", "encroached_m2", "nearest_m", "structural_zone_touched", "class",
     "class_says"],
)  # fmt: skip
ROOT_EXAMPLE: Final[dict[str, Any]] = {
    "dbh_cm": 65,
    "root_crown_diameter_cm": 75,
    "standard": "as4970",
    "edition": "2009",
    "location": [-29.5, 45.0],
    "works": {"type": "LineString", "coordinates": [[-29.49994, 44.9995], [-29.49994, 45.0005]]},
    "works_width_m": 0.6,
}
_MEASURED: Final = body(
    {
        "sound_wall_cm": number(0, decay.LARGEST_CM, "Thinnest sound wall, without bark.", needed=True),
        "error_cm": number(0, 100, "Standard deviation; without it that of the method."),
        "method": word([row["method"] for row in tables.read("reading_errors")]),
        "years_ago": number(0, 100),
    },
    ["sound_wall_cm"],
)
DECAY_INPUT: Final = body(
    {
        "diameter_cm": number(0, decay.LARGEST_CM, "Of the part, over bark; needed with measurements.", above=True),
        "bark_cm": number(0, 50, "Single thickness."),
        "position": word(decay.POSITIONS, needed=True),
        "measurements": array(_MEASURED, decay.MOST_MEASUREMENTS, "Without any there is no band."),
        "wound": body(
            {"width_cm": number(0, decay.LARGEST_CM, above=True), "age_years": number(0, 500)}, null=True
        ),
        "fungus": body(
            {"genus": text(needed=True), "confidence": word(FUNGUS_CONFIDENCE)}, ["genus"], null=True
        ),
        "rot_type": word(ROTS, "Without it that of the genus."),
        "allowance_cm": number(0, 50, "Weakened wood beyond the visible edge; without it by rot."),
        "response_growth": word(decay.RESPONSES),
        "vitality": word(decay.VITALITIES, "Shoot growth."),
        "ring_width_mm": number(0, 50, "Measured; without it by vitality.", above=True),
        "species": text("Botanical name; tells how well it walls off decay."),
        "walling": word(WALLINGS, "How well it walls off decay; wins over the species."),
        "threshold": body(
            {"t_over_r": number(0, 1, above=True), "loss_percent": number(0, 100, above=True)},
            about="One of the two; without it that of the city's policy, else t/R 0.30.",
            null=True,
        ),
        "chance_percent": number(1, 99, "The chance that is allowed; without it the policy's, else 20."),
        "horizon_years": whole(1, decay.MOST_YEARS, "", default=decay.DEFAULT_HORIZON, null=True),
        "draws": whole(100, decay.MOST_DRAWS, "", default=decay.DEFAULT_DRAWS, null=True),
        "seed": whole(0, 2**63 - 1, "The same seed gives the same band.", default=1, null=True),
    },
    ["position"],
)  # fmt: skip
DECAY_OUTPUT: Final = gives(
    {
        "call": MAYBE_TEXT, "band": MAYBE_OBJECT, "first_year_crossed": {"type": ["integer", "null"]},
        "interval_factor": NUMBER, "breached_percent": MAYBE, "threshold": {"type": "object"},
        "chance_percent": NUMBER, "allowance_cm": NUMBER, "reasons": TEXTS,
    }
)  # fmt: skip
DECAY_EXAMPLE: Final[dict[str, Any]] = {
    "diameter_cm": 62,
    "bark_cm": 1.5,
    "position": "stem",
    "measurements": [
        {"sound_wall_cm": 10.5, "method": "drilling"},
        {"sound_wall_cm": 11.5, "method": "drilling", "years_ago": 6},
    ],
    "wound": {"width_cm": 25, "age_years": 18},
    "species": "Fraxinus excelsior",
    "vitality": "normal",
    "response_growth": "some",
}
_FINDING: Final = body(
    {
        "kind": word(KINDS, needed=True),
        "part": word(PARTS, needed=True),
        "part_diameter_cm": number(0, 1200, above=True),
        "height_m": number(0, 120),
        "azimuth_deg": number(0, 360),
        "measures": {
            "type": ["object", "null"],
            "maxProperties": MOST_MEASURES,
            "additionalProperties": {"type": ["number", "string", "boolean"]},
        },
        "fungus_genus": text(),
        "fungus_confidence": word(FUNGUS_CONFIDENCE),
    },
    ["kind", "part"],
)
LIKELIHOOD_INPUT: Final = body(
    {
        "stem_load": stem_load.INPUT
        | {"type": ["object", "null"], "description": "A request of the kind `stem-load`."},
        "gust_climate": body(
            {
                "one_year_m_s": number(1, 120, "3-second gust at 10 m of one year in one.", needed=True),
                "fifty_year_m_s": number(1, 120, "The same of one year in fifty.", needed=True),
            },
            ["one_year_m_s", "fifty_year_m_s"],
            "Of the site; there is no default.",
            null=True,
        ),
        "findings": array(_FINDING, MOST_FINDINGS, "As in an inspection."),
        "tree": body(
            {
                "dbh_cm": number(0, 1200, above=True),
                "height_m": number(0, 120, above=True),
                "conifer": either({"type": "null"}, flag("")),
                "dead": flag("", default=False),
            },
            null=True,
        ),
    }
)  # fmt: skip
LIKELIHOOD_OUTPUT: Final = gives(
    {
        "likelihood_of_failure": TEXT,
        "basis": TEXT,
        "mechanics": MAYBE_OBJECT,
        "findings": MAYBE_TEXT,
        "reasons": TEXTS,
        "sharpen": MAYBE_TEXT,
    }
)
LIKELIHOOD_EXAMPLE: Final[dict[str, Any]] = {
    "stem_load": stem_load.EXAMPLE,
    "gust_climate": {"one_year_m_s": 24, "fifty_year_m_s": 38},
    "findings": [{"kind": "cavity", "part": "stem", "height_m": 1.0, "measures": {"shell_cm": 11, "depth_cm": 30}}],
    "tree": {"dbh_cm": 62},
}
RISK_INPUT: Final = body(
    {
        "likelihood_of_failure": word(risk.FAILURE, needed=True),
        "likelihood_of_impact": word(risk.IMPACT, "Give it, or occupancy and exposure."),
        "occupancy": word(risk.OCCUPANCY),
        "exposure": word(risk.EXPOSURE),
        "fall_direction": word(risk.FALL_DIRECTION),
        "consequences": word(risk.CONSEQUENCES, needed=True),
    },
    ["likelihood_of_failure", "consequences"],
)
_WORD: Final[Schema] = {"type": "string"}
RISK_OUTPUT: Final = gives(
    {
        "failure_and_impact": word(risk.LIKELIHOOD, needed=True),
        "risk": word(risk.RISK, needed=True),
        "likelihood_of_impact": word(risk.IMPACT, needed=True),
        "impact_basis": _WORD,
        "impact_reason": _WORD,
    }
)


def grow(request: Any) -> Worked:
    """Compute decay over time. Raises MethodProblem."""
    found = decay_growth.assess(decay_growth.read(request))
    return Worked(decay_json(found), lambda: decay_band.draw(found))


ROOT_ZONE: Final = Kind(
    name="root-zone",
    title="Root zone and works",
    about="The zone that a standard keeps round a stem, and the exact share of it that works take.",
    work=lambda request: Worked(root_zone.compute(request)),
    input=ROOT_INPUT,
    output=ROOT_OUTPUT,
    example=ROOT_EXAMPLE,
    cautions=("A first distance for planning, not the extent of the roots.",),
)
DECAY_GROWTH: Final = Kind(
    name="decay-growth",
    title="Decay over time",
    about="How the sound wall may change over the coming years, and when a threshold may be crossed.",
    work=grow,
    input=DECAY_INPUT,
    output=DECAY_OUTPUT,
    example=DECAY_EXAMPLE,
    cautions=("Rates and odds are the project's choice: no published rates by species could be established.",),
    drawn=True,
)
LIKELIHOOD: Final = Kind(
    name="likelihood",
    title="Likelihood of failure",
    about="A suggested likelihood from mechanics and findings together, with its reasons and what would sharpen it.",
    work=lambda request: Worked(evidence.compute(request)),
    input=LIKELIHOOD_INPUT,
    output=LIKELIHOOD_OUTPUT,
    example=LIKELIHOOD_EXAMPLE,
    cautions=("Imminent failure is suggested by signs that it has begun, never by calculation.",),
)
RISK: Final = Kind(
    name="risk",
    title="Risk of one part and one target",
    about="The rating by the two published matrices.",
    work=lambda request: Worked(risk_answer.compute(request)),
    input=RISK_INPUT,
    output=RISK_OUTPUT,
    example={
        "likelihood_of_failure": "probable",
        "occupancy": "frequent",
        "exposure": "full",
        "consequences": "significant",
    },
    cautions=("The assessor decides and says why where the decision differs.",),
)
