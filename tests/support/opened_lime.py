"""A roadside lime for the pages: hollow at the collar, a seam above, felled, cut every 15 cm; and options to choose."""

import uuid
from datetime import date, timedelta
from typing import Any

from assessments import services
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.models import Dissection, Inspection, Option
from assessments.records import InspectionRecord, SectionRecord
from inventory.history import SERVICE, Author
from inventory.models import Tree
from tests.support import build
from tests.support import inspections as looks

KERB_DEG = 170.0
STEM_CM = 72.0


def tree(today: date, tag: str = "L1", east: float = 300.0) -> Tree:
    """A lime of 72 cm on a planting strip."""
    day = date(1951, 3, 1)
    return build.tree(east, 0.0, tag=tag, dbh_cm=STEM_CM, planted_from=day, planted_to=day)


def section() -> dict[str, Any]:
    """What a drill told of the collar at 0.4 m: thin toward the kerb."""
    walls = (14.0, 13.0, 10.0, 7.0, 5.0, 6.0, 10.0, 13.0)
    return {
        "height_m": 0.4,
        "diameter_cm": STEM_CM,
        "bark_cm": 2.0,
        "readings": [
            {"azimuth_deg": 45.0 * n, "sound_wall_cm": wall, "method": "drilling"} for n, wall in enumerate(walls)
        ],
    }


def look(on: date, **fields: Any) -> InspectionRecord:
    """The inspection: cavity, fruiting body, seam, dead wood; people on a footway and parked cars below."""
    findings = (
        looks.finding(
            "cavity",
            "root_collar",
            height_m=0.3,
            azimuth_deg=KERB_DEG,
            measures={"opening_percent": 18.0, "depth_cm": 40.0},
        ),
        looks.finding("fruiting_body", "root_collar", height_m=0.1, azimuth_deg=160.0, measures={"count": 2}),
        looks.finding(
            "seam", "stem", height_m=1.0, azimuth_deg=KERB_DEG, measures={"type": "closed", "length_cm": 120.0}
        ),
        looks.finding("dead_wood", "branch", height_m=9.0, measures={"largest_diameter_cm": 8.0}),
    )
    targets = (
        looks.target(label="Footway of Quay Road", restrictable=True),
        looks.target("vehicles", label="Parked cars", movable=True),
    )
    ratings = (
        looks.rating("high", part="root_collar", target=0, finding=0),
        looks.rating(
            part="root_collar", target=1, finding=0, failure="probable", impact="medium", consequences="significant"
        ),
        looks.rating(part="branch", target=0, finding=3, failure="possible", impact="low", consequences="significant"),
    )
    return looks.record(
        on,
        level="advanced",
        findings=findings,
        targets=targets,
        ratings=ratings,
        sections=(SectionRecord(section(), finding=0),),
        frame_years=3,
        **fields,
    )


def inspected(found: Tree, on: date, author: Author = SERVICE, **fields: Any) -> Inspection:
    """Store the inspection."""
    record = look(on, **fields)
    return services.record_inspection(author, found, record, on, now=looks.noon(on))[0]


def proposed(inspection: Inspection, today: date, author: Author = SERVICE) -> list[Option]:
    """The options that the methods propose for it."""
    return services.propose_options(author, inspection, today)


def cut(place: int) -> CutRecord:
    """A face 15 cm above the last: the hollow narrows upward, the crack under the seam runs out."""
    share = 44.0 - 5.0 * place
    measured: dict[str, Any] = {"above_last_cm": 15.0, "diameter_cm": 76.0 - place, "bark_cm": 2.0}
    measured["cavities"] = [{"share_percent": share, "azimuth_deg": KERB_DEG, "offset_cm": 6.0}]
    measured["decay"] = [{"share_percent": share + 8.0, "azimuth_deg": KERB_DEG, "offset_cm": 5.0}]
    if 1 <= place <= 6:
        measured["cracks"] = [{"azimuth_deg": 172.0 + place, "gap_to_edge_cm": 0.5 * place, "run_cm": 9.0 - place}]
    if place == 0:
        measured["roots_inside"] = True
    return CutRecord(measured)


def opened(found: Tree, felled_on: date, author: Author = SERVICE, cuts: int = 8) -> Dissection:
    """The dissection of the felled lime, the day it was felled."""
    record = DissectionRecord(
        uid=uuid.uuid4(),
        felled_on=felled_on,
        dissected_on=felled_on,
        reason="predicted_weakness",
        measured={},
        cuts=tuple(cut(place) for place in range(cuts)),
        note="Stump kept.",
    )
    return services.record_dissection(author, found, record, felled_on + timedelta(days=0))[0]
