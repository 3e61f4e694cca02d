"""Builders for calibration: hollow limes inspected, felled and opened, whose walls were thinner than was read."""

from datetime import date, timedelta
from typing import Any

from assessments.dissection_records import CutRecord
from assessments.models import Dissection, Inspection
from assessments.records import InspectionRecord
from inventory.history import SERVICE, Author
from inventory.models import Tree
from inventory.services import remove_tree
from tests.support import build, dissections, inspections, sections
from tests.support.inspections import TODAY

SEEN = TODAY - timedelta(days=200)
FELLED = TODAY - timedelta(days=90)
# Of the lime of tests/support/sections: 80 cm over 2 cm of bark.
RADIUS_CM = 38.0


def look(wall_cm: float, on: date = SEEN, failure: str = "possible", **fields: Any) -> InspectionRecord:
    """A cavity at 0.4 m with a section through it that read a wall all round, rated over a path."""
    cavity = inspections.finding("cavity", height_m=0.4, measures={"opening_percent": 10.0})
    rating = inspections.rating(failure=failure, impact="medium", consequences="significant", finding=0)
    return inspections.record(
        on,
        level="advanced",
        findings=(cavity,),
        targets=(inspections.target(),),
        ratings=(rating,),
        sections=(sections.section(wall_cm, finding=0),),
        frame_years=3,
        **fields,
    )


def hollow_face(fraction: float, height_m: float = 0.4) -> CutRecord:
    """A cut through the same lime with a round hollow that leaves a fraction of the radius sound."""
    hollow = {"diameter_cm": 2 * RADIUS_CM * (1 - fraction)}
    return CutRecord({"height_m": height_m, "diameter_cm": 80.0, "bark_cm": 2.0, "cavities": [hollow]})


def opened(number: int, wall_cm: float, found: float, author: Author = SERVICE, **fields: Any) -> Dissection:
    """A lime inspected, felled and opened: a wall was read, a fraction of the radius was found."""
    tree = build.tree(number * 20 + 1000, dbh_cm=80.0)
    inspections.inspected(tree, look(wall_cm), author)
    remove_tree(SERVICE, tree, on=FELLED, reason="felled", stump_ground=True)
    record = dissections.record(FELLED, cuts=[], reason=fields.pop("reason", "random_sample"))
    whole = type(record)(**{**vars(record), "cuts": (hollow_face(found),)} | fields)
    return dissections.dissected(tree, whole)


def opened_row(count: int = 8, share: float = 0.7, author: Author = SERVICE) -> list[Dissection]:
    """Several such limes, each with less wall than was read."""
    walls = [10.0 + place for place in range(count)]
    return [opened(n, wall, share * wall / RADIUS_CM, author) for n, wall in enumerate(walls)]


def standing(number: int = 0, wall_cm: float = 14.0, **fields: Any) -> tuple[Tree, Inspection]:
    """A lime that stands, with such a section."""
    tree = build.tree(number * 20, dbh_cm=80.0)
    return tree, inspections.inspected(tree, look(wall_cm, **fields))
