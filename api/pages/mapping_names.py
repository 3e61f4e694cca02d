"""What a column may be taken for, in the words of the pages: names of roles, units and forms, in groups for selects."""

from typing import Final

from api.pages import words
from inventory.geo.crs import ALLOWED
from inventory.intake.roles import ROLES

NOT_A_ROLE: Final = "ignored"
FORMS: Final = {
    "ymd": "year, month, day",
    "dmy": "day, month, year",
    "mdy": "month, day, year",
    "year": "year alone",
    "serial": "days as a spreadsheet counts them",
    "epoch": "seconds since 1970",
    "epoch_ms": "milliseconds since 1970",
    "lat_lon": "latitude first",
    "lon_lat": "longitude first",
    "range": "both ends written (10-15)",
    "tens": "number of a class of ten (3 is 30 to 40)",
}
UNITS: Final = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches", "ft": "feet"}
GROUPS: Final = (
    ("What it is", ("key", "species", "genus", "epithet", "cultivar", "common", "code")),
    ("Size", ("dbh", "girth", "radius", "dbh_class", "girth_class", "height", "height_class", "crown", "crown_radius",
              "crown_base")),
    ("Place", ("latitude", "longitude", "northing", "easting", "point", "address", "street", "street_part", "number",
               "place", "strip_width")),
    ("Dates", ("planted", "age", "measured")),
    ("How it is", ("state", "condition", "recommendation", "note")),
)  # fmt: skip


LABELS: Final = {
    "key": "Number of the tree",
    "species": "Botanical name",
    "common": "Everyday name",
    "code": "Short name of the species",
    "dbh": "Stem diameter",
    "girth": "Stem girth",
    "radius": "Stem radius",
    "dbh_class": "Class of stem diameter",
    "girth_class": "Class of stem girth",
    "height_class": "Class of height",
    "crown": "Crown width",
    "crown_base": "Height of the crown base",
    "northing": "Northing (y)",
    "easting": "Easting (x)",
    "point": "Both coordinates",
    "address": "Number and street",
    "street_part": "Part of the street's name",
    "number": "House number",
    "place": "Place or growing space",
    "strip_width": "Width of the growing space",
    "planted": "Planting date",
    "measured": "Survey date",
    "recommendation": "Recommended work",
    "note": "Remark",
    NOT_A_ROLE: "Left out",
}


def label(role: str) -> str:
    """The name of a role as a person reads it.

    >>> label("dbh"), label("crown_radius")
    ('Stem diameter', 'Crown radius')
    """
    return LABELS.get(role) or words.say(role)


def role_groups() -> list[tuple[str, list[tuple[str, str, bool, bool]]]]:
    """The roles in groups for a select: name, words, whether one chooses a unit and a form with it."""
    named = {name for _, names in GROUPS for name in names} | {NOT_A_ROLE}
    more = tuple(name for name in ROLES if name not in named)
    groups = [*GROUPS, ("More", more)] if more else list(GROUPS)
    return [(group, [_choice(name) for name in names if name in ROLES]) for group, names in groups]


def _choice(name: str) -> tuple[str, str, bool, bool]:
    return name, label(name), bool(ROLES[name].units), bool(ROLES[name].formats)


def form_groups() -> list[tuple[str, list[tuple[str, str]]]]:
    """The forms of dates, points and classes in groups for a select."""
    groups = (("Dates", "planted"), ("Points", "point"), ("Classes", "dbh_class"))
    return [(group, [(one, FORMS.get(one, one)) for one in ROLES[role].formats]) for group, role in groups]


def systems(first: int) -> list[tuple[int, str]]:
    """The coordinate reference systems that may be chosen, a suggested one first."""
    rest = sorted((srid, name) for srid, name in ALLOWED.items() if srid != first)
    return ([(first, ALLOWED[first])] if first in ALLOWED else []) + rest
