"""The JSON request of a root zone, read strictly; what a standard does not know is a problem, never a guess."""

from dataclasses import dataclass
from typing import Any, Final

from assessments.methods.problems import number
from assessments.methods.request import Fields

from . import as4970, us_multiple, works
from .works import Works

METHOD: Final = "root_zone_request"
VERSION: Final = 1

STANDARDS: Final = ("bs5837", "as4970", "us-multiple")
EDITIONS: Final = {"bs5837": ("2012",), "as4970": as4970.EDITIONS, "us-multiple": ("1998",)}
FORMS: Final = ("tree", "palm")
_WORDS: Final = (("tolerance", us_multiple.TOLERANCES), ("age_class", us_multiple.AGE_CLASSES))
MOST_STEMS: Final = 50
THICKEST_CM: Final = 1200.0
FIELDS: Final = (
    "dbh_cm", "stems_cm", "diameter_height_m", "root_crown_diameter_cm", "standard", "edition", "tolerance",
    "age_class", "form", "crown_radius_m", "location", "works", "works_width_m", "plane",
)  # fmt: skip


@dataclass(frozen=True)
class Request:
    """One tree and one standard. Diameters in cm at `diameter_height_m` (None: the standard's own height)."""

    stems_cm: tuple[float, ...]
    standard: str
    edition: str
    edition_given: bool = True
    diameter_height_m: float | None = None
    root_crown_diameter_cm: float | None = None
    tolerance: str = ""
    age_class: str = ""
    palm: bool = False
    crown_radius_m: float | None = None
    works: Works | None = None


def read(request: object) -> Request:
    """Read a request. Raises MethodProblem that names the wrong fields.

    >>> read({"dbh_cm": 50, "standard": "bs5837"}).edition
    '2012'
    """
    fields = Fields(request, "", FIELDS)
    if not fields.has("standard"):
        raise fields.wrong("standard", f"is missing: name one of {', '.join(STANDARDS)}")
    standard = fields.choice("standard", STANDARDS, "")
    palm = fields.choice("form", FORMS, "tree") == "palm"
    if palm and standard != "as4970":
        raise fields.wrong("form", "palms: only as4970 has a rule for them")
    edition, given = _edition(fields, standard)
    tolerance, age = (_needed_word(fields, standard, name, words) for name, words in _WORDS)
    crown = fields.maybe("crown_radius_m", 0, 60, above=True)
    if palm and edition == "2009" and crown is None:
        raise fields.wrong("crown_radius_m", "is missing: the edition of 2009 measures from the palm's crown")
    for name in ("location", "works_width_m", "plane"):
        if fields.has(name) and not fields.has("works"):
            raise fields.wrong("works", f"is missing: {name} is given without works")
    return Request(
        stems_cm=() if palm else _stems(fields),
        standard=standard,
        edition=edition,
        edition_given=given,
        diameter_height_m=fields.maybe("diameter_height_m", 0, 3),
        root_crown_diameter_cm=fields.maybe("root_crown_diameter_cm", 0, THICKEST_CM, above=True),
        tolerance=tolerance,
        age_class=age,
        palm=palm,
        crown_radius_m=crown,
        works=works.read(fields) if fields.has("works") else None,
    )


def _needed_word(fields: Fields, standard: str, name: str, words: tuple[str, ...]) -> str:
    word = fields.choice(name, words, "")
    if standard == "us-multiple" and not word:
        raise fields.wrong(name, f"is missing: one of {', '.join(words)}")
    return word


def _edition(fields: Fields, standard: str) -> tuple[str, bool]:
    known, value = EDITIONS[standard], fields.raw("edition")
    if value is None:
        return known[0], False
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) and 0 < value < 9999 else value
    if not isinstance(text, str) or text not in known:
        raise fields.wrong("edition", f"must be {' or '.join(known)} for {standard}")
    return text, True


def _stems(fields: Fields) -> tuple[float, ...]:
    if fields.has("dbh_cm") and fields.has("stems_cm"):
        raise fields.wrong("stems_cm", "is given beside dbh_cm: give one")
    if not fields.has("stems_cm"):
        if not fields.has("dbh_cm"):
            raise fields.wrong("dbh_cm", "is missing: give it, or stems_cm")
        return (fields.number("dbh_cm", 0, THICKEST_CM, above=True),)
    return fields.items("stems_cm", MOST_STEMS, _stem, least=1)


def _stem(value: Any, at: str) -> float:
    return number(value, at, 0, THICKEST_CM, above=True)
