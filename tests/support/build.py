"""Typed builders for the inventory's nouns; each writes the least that the rules allow."""

import itertools
from datetime import date
from typing import Any

from django.contrib.gis.geos import MultiPolygon, Point, Polygon

from inventory import services
from inventory.history import SERVICE
from inventory.models import Municipality, Species, Tree, Zone
from inventory.people.models import Membership, Organisation, User

# The invented city lies in the open Atlantic.
LON, LAT = -29.5, 45.0
PASSWORD = "correct horse battery staple"
_numbers = itertools.count(1)


def municipality(**fields: Any) -> Municipality:
    """The one municipality."""
    defaults = {
        "name": "Harrowmere",
        "metric_srid": 32626,
        "time_zone": "UTC",
        "currency": "EUR",
        "language": "en",
        "emergency_phone": "112",
    }
    return Municipality.objects.update_or_create(id=1, defaults=defaults | fields)[0]


def organisation(kind: str = "municipality", name: str = "") -> Organisation:
    """An organisation with a name of its own."""
    return Organisation.objects.create(kind=kind, name=name or f"Organisation {next(_numbers)}")


def user(role: str | None = "forester", at: Organisation | None = None, **fields: Any) -> User:
    """A user with one role at an organisation (None: no role at all)."""
    number = next(_numbers)
    person = User.objects.create_user(
        fields.pop("email", f"person{number}@harrowmere.example"),
        fields.pop("name", f"Person {number}"),
        PASSWORD,
        **fields,
    )
    if role:
        at = at or organisation("contractor" if role == "contractor" else "municipality")
        Membership.objects.create(user=person, organisation=at, role=role, since=date(2020, 1, 1))
    return person


def species(botanical_name: str = "Tilia cordata", **fields: Any) -> Species:
    """A species of the catalogue."""
    defaults = {
        "rank": "species",
        "genus": botanical_name.split()[0],
        "family": "Malvaceae",
        "common_en": "small-leaved lime",
        "max_dbh_cm": 250.0,
    }
    return Species.objects.get_or_create(botanical_name=botanical_name, defaults=defaults | fields)[0]


def tree(east: float = 0.0, north: float = 0.0, *, dbh_cm: float | None = 40.0, **fields: Any) -> Tree:
    """A standing tree `east`, `north` metres from the middle of the city (roughly)."""
    place = Point(LON + east / 78_850, LAT + north / 111_130, srid=4326)
    size = None
    if dbh_cm is not None:
        size = services.Size(measured_on=date(2024, 5, 1), method="tape", dbh_cm=dbh_cm, height_m=12.0)
    fields.setdefault("species_id", species().pk)
    return services.add_tree(SERVICE, location=place, tree_fields=fields, size=size)


def zone(code: str = "Z1", half_m: float = 1000.0, **fields: Any) -> Zone:
    """A square zone around the middle of the city."""
    x, y = half_m / 78_850, half_m / 111_130
    square = Polygon.from_bbox((LON - x, LAT - y, LON + x, LAT + y))
    with SERVICE.acting("zone made"):
        return Zone.objects.create(code=code, name=f"Zone {code}", area=MultiPolygon(square), **fields)
