"""The JSON request of decay over time, read strictly: stem, inside measurements, wound, fungus, vigour, threshold."""

from dataclasses import dataclass
from typing import Final

from assessments.methods import tables
from assessments.methods.catalogue import FUNGUS_CONFIDENCE
from assessments.methods.request import Fields

from .choices import FUNGI, ROTS, WALLINGS, walling_of

METHOD: Final = "decay_growth_request"
VERSION: Final = 1

POSITIONS: Final = ("root", "butt", "stem", "limb")
RESPONSES: Final = ("none", "some", "good")
VITALITIES: Final = ("none", "low", "normal", "high")
LARGEST_CM: Final = 2000.0
MOST_MEASUREMENTS: Final = 50
MOST_YEARS: Final = 60
MOST_DRAWS: Final = 10_000
DEFAULT_HORIZON: Final = 20
DEFAULT_DRAWS: Final = 2000
# The guide most used; disputed, and a policy of the city.
DEFAULT_T_OVER_R: Final = 0.30
DEFAULT_CHANCE_PERCENT: Final = 20.0
DEFAULT_ERROR_CM: Final = 1.0
FIELDS: Final = (
    "diameter_cm", "bark_cm", "position", "measurements", "wound", "fungus", "rot_type", "allowance_cm",
    "response_growth", "vitality", "ring_width_mm", "species", "walling", "threshold", "chance_percent",
    "horizon_years", "draws", "seed",
)  # fmt: skip
_ERRORS: Final = {row["method"]: (float(row["error_cm"]), float(row["share"])) for row in tables.read("reading_errors")}


@dataclass(frozen=True)
class Measured:
    """The thinnest sound wall measured inside, in cm without bark, with its standard deviation, years ago."""

    sound_wall_cm: float
    error_cm: float = DEFAULT_ERROR_CM
    years_ago: float = 0.0


@dataclass(frozen=True)
class Request:
    """One decayed part. `diameter_cm` without bark, now (0: not given, and nothing measured); None, "": not known."""

    diameter_cm: float
    position: str
    measured: tuple[Measured, ...] = ()
    wound_width_cm: float | None = None
    wound_years: float | None = None
    fungus: str = ""
    fungus_confidence: str = ""
    rot: str = "unknown"
    allowance_cm: float | None = None
    response_growth: str = ""
    vitality: str = ""
    ring_width_mm: float | None = None
    walling: str = "moderate"
    walling_known: bool = False
    least_t_over_r: float | None = DEFAULT_T_OVER_R
    most_loss_percent: float | None = None
    chance_percent: float = DEFAULT_CHANCE_PERCENT
    horizon_years: int = DEFAULT_HORIZON
    draws: int = DEFAULT_DRAWS
    seed: int = 1

    @property
    def outside_sign(self) -> bool:
        """Whether a wound or a fungus is known."""
        return bool(self.fungus) or self.wound_width_cm is not None or self.wound_years is not None


def read(request: object) -> Request:
    """Read a request. Raises MethodProblem that names the wrong fields.

    >>> read({"diameter_cm": 60, "position": "stem", "measurements": [{"sound_wall_cm": 9}]}).least_t_over_r
    0.3
    """
    fields = Fields(request, "", FIELDS)
    diameter = _under_bark(fields) if fields.has("diameter_cm") or fields.has("measurements") else 0.0
    if not fields.has("position"):
        raise fields.wrong("position", f"is missing: one of {', '.join(POSITIONS)}")
    wound = fields.inner("wound", ("width_cm", "age_years"))
    genus, confidence = _fungus(fields)
    walling, known = _walling(fields)
    ratio, loss = _threshold(fields)
    chance = fields.maybe("chance_percent", 1, 99)
    return Request(
        diameter_cm=diameter,
        position=fields.choice("position", POSITIONS, ""),
        measured=fields.items("measurements", MOST_MEASUREMENTS, lambda value, at: _measured(value, at, diameter)),
        wound_width_cm=wound.maybe("width_cm", 0, LARGEST_CM, above=True),
        wound_years=wound.maybe("age_years", 0, 500),
        fungus=genus,
        fungus_confidence=confidence,
        rot=fields.choice("rot_type", ROTS, FUNGI[genus].rot if genus in FUNGI else "unknown"),
        allowance_cm=fields.maybe("allowance_cm", 0, 50),
        response_growth=fields.choice("response_growth", RESPONSES, ""),
        vitality=fields.choice("vitality", VITALITIES, ""),
        ring_width_mm=fields.maybe("ring_width_mm", 0, 50, above=True),
        walling=walling,
        walling_known=known,
        least_t_over_r=ratio,
        most_loss_percent=loss,
        chance_percent=DEFAULT_CHANCE_PERCENT if chance is None else chance,
        horizon_years=_whole(fields, "horizon_years", 1, MOST_YEARS, DEFAULT_HORIZON),
        draws=_whole(fields, "draws", 100, MOST_DRAWS, DEFAULT_DRAWS),
        seed=_whole(fields, "seed", 0, 2**63 - 1, 1),
    )


def _under_bark(fields: Fields) -> float:
    diameter = fields.number("diameter_cm", 0, LARGEST_CM, above=True)
    bark = fields.maybe("bark_cm", 0, 50) or 0.0
    if 2 * bark >= diameter:
        raise fields.wrong("bark_cm", "leaves no wood")
    return diameter - 2 * bark


def _whole(fields: Fields, name: str, least: int, most: int, default: int) -> int:
    value = fields.raw(name)
    if value is None:
        return default
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise fields.wrong(name, f"must be a whole number from {least} to {most}")
    return value


def _measured(value: object, at: str, diameter_cm: float) -> Measured:
    item = Fields(value, at, ("sound_wall_cm", "error_cm", "method", "years_ago"))
    wall = item.number("sound_wall_cm", 0, LARGEST_CM)
    if wall > 1.1 * diameter_cm:
        raise item.wrong("sound_wall_cm", "is more than the part is thick")
    method = item.choice("method", _ERRORS, "")
    fixed, share = _ERRORS.get(method, (DEFAULT_ERROR_CM, 0.0))
    error = item.maybe("error_cm", 0, 100)
    years = item.maybe("years_ago", 0, 100)
    return Measured(wall, fixed + share * wall if error is None else error, years or 0.0)


def _fungus(fields: Fields) -> tuple[str, str]:
    if not fields.has("fungus"):
        return "", ""
    item = fields.inner("fungus", ("genus", "confidence"))
    return item.text("genus").lower(), item.choice("confidence", FUNGUS_CONFIDENCE, "guess")


def _walling(fields: Fields) -> tuple[str, bool]:
    given = fields.choice("walling", WALLINGS, "")
    found = walling_of(fields.text("species")) if fields.has("species") else None
    return given or found or "moderate", bool(given or found)


def _threshold(fields: Fields) -> tuple[float | None, float | None]:
    if not fields.has("threshold"):
        return DEFAULT_T_OVER_R, None
    item = fields.inner("threshold", ("t_over_r", "loss_percent"))
    ratio = item.maybe("t_over_r", 0, 1, above=True)
    loss = item.maybe("loss_percent", 0, 100, above=True)
    if (ratio is None) == (loss is None):
        raise item.wrong("loss_percent" if ratio is not None else "t_over_r", "give one of t_over_r and loss_percent")
    return ratio, loss
