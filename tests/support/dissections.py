"""Builders for dissections: a lime hollow at the foot, cut every 15 cm, as JSON and as records."""

import uuid
from datetime import date, timedelta
from typing import Any

from assessments import services
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.models import Dissection
from inventory.history import SERVICE
from inventory.models import Tree
from tests.support.inspections import TODAY

FELLED = TODAY - timedelta(days=3)


def face(share_percent: float = 25.0, **fields: Any) -> dict[str, Any]:
    """A cut 15 cm above the last one through a stem of 80 cm, hollow in its middle."""
    size = {} if {"height_m", "above_last_cm"} & set(fields) else {"above_last_cm": 15.0}
    return {**size, "diameter_cm": 80.0, "bark_cm": 2.0, "cavities": [{"share_percent": share_percent}]} | fields


def faces(number: int = 8) -> list[dict[str, Any]]:
    """Cuts from below: the hollow narrows upward, a crack runs out."""
    found = [face(40.0 - 4 * place) for place in range(number)]
    found[0]["cracks"] = [{"azimuth_deg": 120.0, "gap_to_edge_cm": 0.0, "run_cm": 12.0}]
    return found


def record(felled_on: date = FELLED, **fields: Any) -> DissectionRecord:
    """A dissection made the day after the tree was felled."""
    cuts = fields.pop("cuts", None)
    return DissectionRecord(
        uid=fields.pop("uid", None) or uuid.uuid4(),
        felled_on=felled_on,
        dissected_on=fields.pop("dissected_on", felled_on + timedelta(days=1)),
        reason=fields.pop("reason", "predicted_weakness"),
        cuts=tuple(CutRecord(one) for one in (faces() if cuts is None else cuts)),
        **fields,
    )


def dissected(tree: Tree, given: DissectionRecord | None = None, **fields: Any) -> Dissection:
    """Store a dissection of a tree."""
    return services.record_dissection(SERVICE, tree, given or record(**fields), TODAY)[0]


def later_cut(height_m: float = 3.0, **fields: Any) -> CutRecord:
    """A cut that comes by itself."""
    return CutRecord(face(height_m=height_m, **fields), uuid.uuid4())
