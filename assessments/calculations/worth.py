"""The calculations `appraisal`, `present-value`, `growth` and `information-value`: requests, answers and examples."""

from typing import Any, Final

from assessments.methods import appraisal, growth, information, money
from assessments.methods.growth import REGIONS
from assessments.methods.growth.answer import OLDEST_YEARS, THICKEST_CM
from assessments.methods.growth.biomass import ESTIMATORS
from assessments.methods.growth.course import LONGEST_YEARS

from .kind import Kind, Worked
from .shapes import FLAG, NUMBER, TEXT, Schema, array, body, flag, gives, number, rows, text, word

_MONEY: Final = 1e9
_PERCENT: Final = (0, 100)
APPRAISAL_INPUT: Final = body(
    {
        "edition": word(appraisal.EDITIONS, "Of the guide; 10 without it."),
        "dbh_cm": number(0, 1200, "Give it, or trunk_area_cm2.", above=True),
        "trunk_area_cm2": number(0, appraisal.MOST_AREA_CM2, "Measured or printed.", above=True),
        "unit_cost_per_cm2": number(0, 1e6, "Give it, or replacement_plant_cost.", above=True),
        "replacement_area_cm2": number(0, 5000, "Trunk area of the largest replacement to be had.", above=True),
        "replacement_plant_cost": number(0, _MONEY, "Of the plant alone."),
        "replacement_cost": number(0, _MONEY, "Edition 9: of the replacement installed."),
        "species_percent": number(*_PERCENT, "Edition 9."),
        "condition_percent": number(*_PERCENT, "Both editions."),
        "location_percent": number(*_PERCENT, "Edition 9: mean of site, contribution and placement."),
        "functional_percent": number(*_PERCENT, "Edition 10: limits of the species on its site."),
        "external_percent": number(*_PERCENT, "Edition 10: limits from outside the tree and its site."),
    },
    ["condition_percent"],
)
APPRAISAL_OUTPUT: Final = gives(
    {
        "edition": TEXT,
        "value": NUMBER,
        "basic_cost": NUMBER,
        "trunk_area_cm2": NUMBER,
        "appraised_area_cm2": NUMBER,
        "unit_cost_per_cm2": NUMBER,
        "factors": rows(name=TEXT, percent=NUMBER),
    }
)
APPRAISAL_EXAMPLE: Final[dict[str, Any]] = {
    "edition": "9",
    "trunk_area_cm2": 347,
    "unit_cost_per_cm2": 11.94,
    "replacement_area_cm2": 14.1,
    "replacement_cost": 345,
    "species_percent": 90,
    "condition_percent": 56,
    "location_percent": 66.7,
}

_UPKEEP: Final = body(
    {
        "what": text(needed=True),
        "cost": number(0, money.MOST_COST, needed=True),
        "every_years": number(1, money.LONGEST_YEARS, "Whole years.", needed=True),
        "first_year": number(0, money.LONGEST_YEARS, "Without it after one interval."),
        "last_year": number(0, money.LONGEST_YEARS, "Without it as long as the horizon lasts."),
    },
    ["what", "cost", "every_years"],
)
PRESENT_INPUT: Final = body(
    {
        "cost_now": number(0, money.MOST_COST, "0 without it."),
        "upkeep": array(_UPKEEP, money.MOST_UPKEEP, "What comes again."),
        "horizon_years": number(0, money.LONGEST_YEARS, "Whole years.", needed=True),
        "discount_rate_percent": number(0, float(100 * money.HIGHEST_RATE), "A year, above inflation.", needed=True),
    },
    ["horizon_years", "discount_rate_percent"],
)
PRESENT_OUTPUT: Final = gives(
    {
        "present_value": NUMBER,
        "now": NUMBER,
        "upkeep": NUMBER,
        "flows": rows(year={"type": "integer"}, what=TEXT, amount=NUMBER, discounted=NUMBER),
    }
)
PRESENT_EXAMPLE: Final[dict[str, Any]] = {
    "cost_now": 850,
    "upkeep": [
        {"what": "repeat cut", "cost": 850, "every_years": 5},
        {"what": "inspect", "cost": 40, "every_years": 1},
    ],
    "horizon_years": 20,
    "discount_rate_percent": 3,
}

GROWTH_INPUT: Final = body(
    {
        "species": text("Botanical name; no palm.", needed=True),
        "family": text("Botanical name; picks the equation of Chojnacky et al. 2014."),
        "evergreen": flag("Of an oak or beech: evergreen.", default=False),
        "conifer": flag("Without it by the wood table."),
        "region": word(REGIONS, "Reference city of a like climate; without it the first of a fixed order."),
        "age_years": number(0, OLDEST_YEARS, "Give it, or dbh_cm."),
        "dbh_cm": number(0, THICKEST_CM, above=True),
        "height_m": number(0, 120, "Measured: betters the mass.", above=True),
        "crown_width_m": number(0, 80, "Measured: betters the canopy.", above=True),
        "estimator": word(ESTIMATORS, "Of the mass; without it the first whose range holds the tree."),
        "horizon_years": number(0, LONGEST_YEARS, "Whole years; 0 without it."),
    },
    ["species"],
)
_INTEGER: Final[Schema] = {"type": "integer"}
GROWTH_OUTPUT: Final = gives(
    {
        "dbh_cm": NUMBER,
        "sizes": rows(
            what=TEXT,
            best=NUMBER,
            low=NUMBER,
            high=NUMBER,
            unit=TEXT,
            basis=TEXT,
            equation=TEXT,
            outside_range=FLAG,
        ),
        "canopy_m2": NUMBER,
        "dry_above_ground_kg": NUMBER,
        "carbon_kg": NUMBER,
        "least_carbon_kg": NUMBER,
        "most_carbon_kg": NUMBER,
        "co2_kg": NUMBER,
        "estimator": TEXT,
        "estimates": rows(estimator=TEXT, dry_kg=NUMBER, outside_range=FLAG, source=TEXT),
        "uptake_kg_a_year": NUMBER,
        "years": rows(year=_INTEGER, dbh_cm=NUMBER, canopy_m2=NUMBER, carbon_kg=NUMBER),
    }
)
GROWTH_EXAMPLE: Final[dict[str, Any]] = {
    "species": "Tilia cordata",
    "family": "Malvaceae",
    "region": "NoEast",
    "dbh_cm": 48,
    "crown_width_m": 10.5,
    "horizon_years": 10,
}

_NAME: Final = text(needed=True)
_ACTION: Final = body(
    {
        "name": _NAME,
        "cost": number(0, _MONEY, needed=True),
        "harm": array(number(0, 1000, needed=True), information.MOST, "By state: expected deaths.", least=1),
    },
    ["name", "cost", "harm"],
)
_READING: Final = body(
    {"name": _NAME, "chance_by_state": array(number(0, 1, needed=True), information.MOST, least=1)},
    ["name", "chance_by_state"],
)
INFORMATION_INPUT: Final = body(
    {
        "states": array(
            body({"name": _NAME, "prior": number(0, 1, needed=True)}, ["name", "prior"]),
            information.MOST,
            "What the tree may be; the priors sum to 1.",
            least=2,
            needed=True,
        ),
        "actions": array(_ACTION, information.MOST, least=1, needed=True),
        "diagnosis": body(
            {
                "name": _NAME,
                "cost": number(0, _MONEY, needed=True),
                "readings": array(_READING, information.MOST, "The instrument's error, reading by reading.", least=1),
                "values": array(number(-1e6, 1e6, needed=True), information.MOST, "Or: true in each state.", least=1),
                "error_sd": number(0, 1e6, "Standard deviation of a reading.", above=True),
                "edges": array(number(-1e6, 1e6, needed=True), information.MOST, "Where readings are split.", least=1),
                "unit": text(longest=20),
            },
            ["name", "cost"],
        ),
        "money_per_harm": number(0, information.MOST_MONEY, "Money that weighs as much as one death.", above=True),
    },
    ["states", "actions", "diagnosis"],
)
INFORMATION_OUTPUT: Final = gives(
    {
        "verdict": word(information.VERDICTS, needed=True),
        "says": TEXT,
        "cost": NUMBER,
        "instrument_error": TEXT,
        "values": rows(
            money_per_harm=NUMBER,
            action_now=TEXT,
            loss_now=NUMBER,
            loss_after=NUMBER,
            gross=NUMBER,
            net=NUMBER,
        ),
        "plan": rows(money_per_harm=NUMBER, reading=TEXT, chance=NUMBER, action=TEXT, loss=NUMBER),
    }
)
INFORMATION_EXAMPLE: Final[dict[str, Any]] = {
    "states": [
        {"name": "sound wall 18 cm", "prior": 0.5},
        {"name": "sound wall 11 cm", "prior": 0.35},
        {"name": "sound wall 5 cm", "prior": 0.15},
    ],
    "actions": [
        {"name": "retain", "cost": 600, "harm": [0.00005, 0.0006, 0.006]},
        {"name": "reduce", "cost": 3200, "harm": [0.00002, 0.0001, 0.003]},
        {"name": "remove", "cost": 2300, "harm": [0, 0, 0]},
    ],
    "diagnosis": {
        "name": "drilling", "cost": 350, "values": [18, 11, 5], "error_sd": 2, "edges": [8, 14.5], "unit": "cm"
    },
}  # fmt: skip

APPRAISAL: Final = Kind(
    name="appraisal",
    title="Appraised value",
    about="What a tree is worth by the trunk formula technique, 9th or 10th edition of the guide.",
    work=lambda request: Worked(appraisal.compute(request)),
    input=APPRAISAL_INPUT,
    output=APPRAISAL_OUTPUT,
    example=APPRAISAL_EXAMPLE,
    cautions=("A cost approach for a qualified appraiser: not a market price, not a measure of benefits.",),
)
PRESENT_VALUE: Final = Kind(
    name="present-value",
    title="Present value of costs",
    about="What a choice costs now and later, in money of today.",
    work=lambda request: Worked(money.compute(request)),
    input=PRESENT_INPUT,
    output=PRESENT_OUTPUT,
    example=PRESENT_EXAMPLE,
    cautions=("The rate weighs later years against today: look at more than one.",),
)
GROWTH: Final = Kind(
    name="growth",
    title="Growth, canopy and carbon",
    about="Size from age or stem, canopy, biomass and carbon by published equations, now and over the years.",
    work=lambda request: Worked(growth.compute(request)),
    input=GROWTH_INPUT,
    output=GROWTH_OUTPUT,
    example=GROWTH_EXAMPLE,
    cautions=("Equations of American cities: single trees differ by much, and other climates more.",),
)
INFORMATION_VALUE: Final = Kind(
    name="information-value",
    title="Value of a further diagnosis",
    about="What a reading is worth before a choice, for a tenth, once and ten times what a life is set at.",
    work=lambda request: Worked(information.compute(request)),
    input=INFORMATION_INPUT,
    output=INFORMATION_OUTPUT,
    example=INFORMATION_EXAMPLE,
    cautions=("Makes nothing safer: where the risk is high, keep people away meanwhile.",),
)
