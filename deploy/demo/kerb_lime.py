"""The story of the roadside lime: inspected, options, report, decided, felled, cut open, held against the judgement."""

from datetime import date, timedelta
from typing import Any, Final

from assessments import services
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.models import Dissection, Inspection, Option, TreeReport
from assessments.option_records import DecisionRecord
from assessments.report.document.services import ReportRecord, issue
from deploy.demo import days, enact, orders, sketches
from deploy.demo.enact import Stage
from deploy.demo.openings import hollow
from deploy.demo.orders import ItemPlan, OrderPlan
from deploy.demo.story import KERB_DEG, KERB_LIME
from inventory.attachments.services import Photo, add

# Days before the reference date.
SEEN, PROPOSED, ISSUED, DECIDED, ORDERED, FELLED = 150, 146, 144, 138, 130, 112
# Of each cut 15 cm above the last: diameter over bark (cm), thinnest sound wall over radius.
_FACES: Final = (
    (92.0, 0.13), (84.0, 0.15), (78.0, 0.18), (75.5, 0.24), (74.0, 0.31), (73.0, 0.40), (72.5, 0.52), (72.0, 0.66),
)  # fmt: skip
_FIRST_M: Final = 0.1
_BARK_CM: Final = 2.0
_CAPTIONS: Final = (
    ("finding 0", sketches.collar, "Cavity and fruiting bodies at the collar, kerb on the right (sketch)"),
    ("finding 2", sketches.seam, "Closed seam above the cavity (sketch)"),
    ("tree", sketches.roadside, "The lime between footway and road (sketch)"),
)


def play(stage: Stage) -> None:
    """Let the story happen, from the inspection that is recorded already to the opened stem."""
    inspection = Inspection.objects.prefetch_related("findings").get(tree=stage.trees[KERB_LIME], level="advanced")
    _photos(stage, inspection)
    chosen = _propose(stage, inspection)
    _report(stage, inspection)
    _decide(stage, chosen)
    enact.carry_out(stage, _order(stage.reference))
    opened = _dissect(stage)
    _photo_of_the_face(stage, opened)


def _day(stage: Stage, ago: int) -> date:
    return stage.reference - timedelta(days=ago)


def _photos(stage: Stage, inspection: Inspection) -> None:
    findings = sorted(inspection.findings.all(), key=lambda one: one.pk)
    for about, draw, caption in _CAPTIONS:
        noun, _, place = about.partition(" ")
        photo = Photo(
            draw(),
            uid=days.key("photo", KERB_LIME, about),
            about=noun,
            about_uid=findings[int(place)].uid if place else None,
            caption=caption,
            taken_at=inspection.inspected_at,
        )
        add(stage.authors["inspector"], stage.trees[KERB_LIME], photo)


def _propose(stage: Stage, inspection: Inspection) -> Option:
    """The alternatives side by side; the one that will be chosen."""
    found = services.propose_options(stage.authors["inspector"], inspection, _day(stage, PROPOSED))
    return next(one for one in found if one.kind == "remove_and_replant")


def _report(stage: Stage, inspection: Inspection) -> TreeReport:
    record = ReportRecord(
        uid=days.key("report", KERB_LIME),
        valid_until=_day(stage, ISSUED) + timedelta(days=365),
        recommendation=_RECOMMENDATION,
        assumptions=("The footway stays open.", "No tree beside the lime shelters it from the wind."),
    )
    return issue(stage.authors["inspector"], inspection.uid, record, _day(stage, ISSUED))[0]


_RECOMMENDATION: Final = (
    "The wall at the collar is thin on the side of the kerb and the fruiting bodies say that it goes on thinning. A"
    " reduction lowers the load for a few years and has to be repeated; it does not bring the wall back. I recommend"
    " to fell the lime within two months, to close the strip beside it until then in strong wind, to plant a smaller"
    " species on a wider strip, and to cut the stem open so that we learn how near the drill was."
)


def _decide(stage: Stage, chosen: Option) -> None:
    record = DecisionRecord(
        uid=days.key("decision", KERB_LIME),
        decided_on=_day(stage, DECIDED),
        decided_by="Odda Marrick",
        office="City Forester",
        why="thin wall at the collar above a footway that cannot be moved; a reduction would have to be repeated",
        conditions="fell outside the nesting season or after a look for nests; cut the stem open",
        act_by=_day(stage, DECIDED) + timedelta(days=60),
    )
    services.take_decision(stage.authors["forester"], chosen, record, _day(stage, DECIDED))


def _order(reference: date) -> OrderPlan:
    placed = reference - timedelta(days=ORDERED)
    item = ItemPlan(KERB_LIME, "remove", reference - timedelta(days=FELLED), verdict="accepted")
    return OrderPlan(
        "kerb lime", orders.CONTRACTORS[0], placed, placed + timedelta(days=52), "accepted",
        "Leave the lowest 1.2 m of the stem for cutting open; a traffic plan is needed.", [item],
    )  # fmt: skip


def faces() -> list[dict[str, Any]]:
    """The eight cuts from below, as they were typed beside the stump."""
    return [_face(place, diameter, wall) for place, (diameter, wall) in enumerate(_FACES)]


def _face(place: int, diameter_cm: float, wall: float) -> dict[str, Any]:
    radius = diameter_cm / 2 - _BARK_CM
    where = {"height_m": _FIRST_M} if place == 0 else {"above_last_cm": 15.0}
    face: dict[str, Any] = {**where, "diameter_cm": diameter_cm, "bark_cm": _BARK_CM}
    face["decay"] = [hollow(radius, wall, KERB_DEG, 0.2 * radius)]
    if place < 6:
        face["cavities"] = [hollow(radius, min(wall + 0.12, 0.9), KERB_DEG, 0.2 * radius)]
    if place in (1, 2):
        face["openings"] = [{"azimuth_deg": KERB_DEG, "width_cm": 24.0}]
    if place >= 3:
        face["cracks"] = [{"azimuth_deg": KERB_DEG - 3, "gap_to_edge_cm": 0.4 * (place - 2), "run_cm": 10.0 - place}]
    return face | {0: {"roots_inside": True}, 1: {"insects": True}}.get(place, {})


def _dissect(stage: Stage) -> Dissection:
    felled = stage.trees[KERB_LIME]
    felled.refresh_from_db()
    if felled.removed_on is None:
        raise LookupError(f"{KERB_LIME} still stands")
    record = DissectionRecord(
        uid=days.key("dissection", KERB_LIME),
        felled_on=felled.removed_on,
        dissected_on=felled.removed_on,
        reason="predicted_weakness",
        cuts=tuple(CutRecord(one, days.key("cut", KERB_LIME, place)) for place, one in enumerate(faces())),
        note="Old cut roots on the side of the kerb; the column of decay begins there.",
    )
    return services.record_dissection(stage.authors["inspector"], felled, record, stage.reference)[0]


def _photo_of_the_face(stage: Stage, opened: Dissection) -> None:
    photo = Photo(
        sketches.face(faces()[2], "the face 0.4 m above the ground"),
        uid=days.key("photo", KERB_LIME, "face"),
        about="dissection",
        about_uid=opened.uid,
        caption="The face 0.4 m above the ground (sketch)",
    )
    add(stage.authors["inspector"], stage.trees[KERB_LIME], photo)
