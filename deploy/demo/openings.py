"""Sixty felled trees that were cut open: what was said of each just before, and what its faces then showed."""

import math
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any, Final

from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.methods.calibration.rows import fraction, logit
from deploy.demo import days, rounds
from deploy.demo.city import City
from deploy.demo.dice import dice, pick
from deploy.demo.growth import Body
from deploy.demo.looks import Case, Look, Visit, look
from deploy.demo.stock import TreePlan
from deploy.demo.troubles import Trouble, fungus_of

# Why a tree was removed: what its record says of it, how many are opened.
_STRATA: Final = (
    ("predicted_weakness", ("decay at the base",), 22),
    ("storm_failure", ("storm damage",), 10),
    ("construction", ("building works",), 8),
    ("utility", ("building works",), 4),
    ("pest", ("dieback",), 6),
    ("random_sample", ("dead", "storm damage"), 10),
)
# What was seen outside and how the wall was read, by share: of trees felled for a weakness, and of all others.
_Seen = tuple[str, str]
_WEAK: Final[tuple[tuple[_Seen, float], ...]] = (
    (("cavity", "drilling"), 4), (("cavity", "acoustic"), 2), (("fruiting_body", "drilling"), 3),
    (("decay", "acoustic"), 2), (("decay", "signs"), 1), (("fruiting_body", "signs"), 1), (("seam", "drilling"), 1),
)  # fmt: skip
_OTHER: Final[tuple[tuple[_Seen, float], ...]] = (
    (("none", "signs"), 4), (("cavity", "drilling"), 2), (("wound", "acoustic"), 2), (("decay", "signs"), 1),
    (("cavity", "sounding"), 1), (("fruiting_body", "acoustic"), 1),
)  # fmt: skip
# How far the wall found lies from the wall read, on the logit scale: invented, to be found again by calibration.
_BIAS: Final = -0.30
_BIAS_OF: Final[Mapping[str, float]] = {"fruiting_body": -0.25, "decay": -0.10, "acoustic": 0.25, "sounding": -0.15}
_STORM: Final = -0.7  # what the wind broke was weaker than it looked
_TREE_SD, _CUT_SD = 0.2, 0.12
_NARROWS: Final = 0.5  # a metre up
_HIDDEN: Final = 0.3
_READ_M: Final = 0.5
_FACES_M: Final = (0.35, 0.5, 0.65)
_BARK_CM: Final = 1.5
_LEAST_CM: Final = 28.0


@dataclass(frozen=True)
class Opening:
    """One tree: its last look, and its dissection."""

    tag: str
    look: Look
    record: DissectionRecord


def plan(invented: City) -> list[Opening]:
    """Open sixty of the trees that went, of every reason for going."""
    taken: set[str] = set()
    found = []
    for reason, said, count in _STRATA:
        fit = [tree for tree in invented.trees if _fits(invented, tree, said) and tree.tag not in taken]
        chosen = sorted(fit, key=lambda tree: dice("opened", tree.tag).random())[:count]
        taken |= {tree.tag for tree in chosen}
        found += [_opening(invented, tree, reason) for tree in chosen]
    return found


def _fits(invented: City, tree: TreePlan, said: tuple[str, ...]) -> bool:
    """Gone for such a reason, thick enough to be told of, and not seen in its last days already."""
    if tree.removed_on is None or tree.removal_reason not in said or tree.newest is None:
        return False
    last = invented.chronicle.last.get(tree.tag)
    early = tree.removed_on > days.taken_over(invented.reference) + timedelta(days=30)
    return tree.newest.dbh_cm >= _LEAST_CM and early and (last is None or last.on < _seen_on(tree.removed_on, tree.tag))


def _seen_on(removed_on: date, tag: str) -> date:
    return days.working(removed_on - timedelta(days=dice("last look", tag).randrange(4, 15)))


def _opening(invented: City, tree: TreePlan, reason: str) -> Opening:
    throw, size = dice("opening", tree.tag), tree.newest
    if size is None or tree.removed_on is None:
        raise LookupError(f"{tree.tag} was never measured or still stands")
    sign, method = pick(throw, _WEAK if reason == "predicted_weakness" else _OTHER)
    estimate = throw.uniform(0.16, 0.42) if reason == "predicted_weakness" else throw.uniform(0.24, 0.62)
    radius_cm = _radius_cm(size, _READ_M)
    troubles, section = _trouble(throw, tree, size, (sign, method), estimate * radius_cm), None
    if sign != "none" and method != "signs":
        section = _section(throw, radius_cm, estimate, method)
    case = Case(tree, troubles, section=section)
    on = _seen_on(tree.removed_on, tree.tag)
    visit = Visit(tree.tag, on, rounds.inspector_of(tree.spot.zone), "advanced" if section else "basic", "follow_up")
    seen = look(case, visit, invented.chronicle.years(on))
    record = DissectionRecord(
        uid=days.key("dissection", tree.tag),
        felled_on=tree.removed_on,
        dissected_on=tree.removed_on + timedelta(days=1),
        reason=reason,
        cuts=tuple(_cuts(throw, tree, size, _truth(throw, sign, method, estimate, reason))),
    )
    return Opening(tree.tag, seen, record)


def _radius_cm(size: Body, height_m: float) -> float:
    """Without bark; the butt swells toward the ground."""
    return round(size.dbh_cm * (1.0 + 0.16 * max(0.0, 1.3 - height_m)) / 2 - _BARK_CM, 1)


def _trouble(throw: Random, tree: TreePlan, size: Body, seen: _Seen, wall_cm: float) -> list[Trouble]:
    """What stood outside at the height that was read; of a sign alone its wall is what the mallet told."""
    sign, method = seen
    if sign == "none":
        return []
    shown: Mapping[str, dict[str, Any]] = {
        "cavity": {"opening_percent": float(throw.randrange(5, 22)), "opening_height_cm": 40.0},
        "decay": {"indicator": "hollow_sound", "extent": "moderate"},
        "fruiting_body": {"count": throw.randrange(1, 5), "size_cm": float(throw.randrange(6, 24))},
        "seam": {"type": "closed", "length_cm": 90.0},
        "wound": {"cause": "vehicle", "circumference_percent": 18.0, "height_cm": 40.0},
    }
    measures = shown[sign]
    if sign in ("cavity", "decay") or method == "signs":
        measures["shell_cm"] = float(round(wall_cm, 1))
    genus = fungus_of(tree.species.genus) if sign == "fruiting_body" else ""
    thick = round(2 * (_radius_cm(size, _READ_M) + _BARK_CM), 1)
    azimuth = float(throw.randrange(0, 360, 5))
    return [
        Trouble(
            sign, "stem", thick, _READ_M, azimuth, measures,
            fungus_genus=genus, fungus_confidence="probable" if genus else "",
        )
    ]  # fmt: skip


def _section(throw: Random, radius_cm: float, estimate: float, method: str) -> dict[str, Any]:
    """Six readings round the stem, the thinnest as estimated."""
    thin = throw.randrange(6)
    readings = []
    for place in range(6):
        side = (1 - math.cos(math.radians(60 * (place - thin)))) / 2
        share = min(0.95, estimate * (1 + side * throw.uniform(0.1, 0.5)))
        readings.append({"azimuth_deg": 60.0 * place, "sound_wall_cm": round(share * radius_cm, 1), "method": method})
    size = {"height_m": _READ_M, "diameter_cm": 2 * (radius_cm + _BARK_CM), "bark_cm": _BARK_CM}
    return {**size, "readings": readings}


def _truth(throw: Random, sign: str, method: str, estimate: float, reason: str) -> float | None:
    """The sound-wall fraction at the height that was read; None for a stem sound throughout."""
    storm = _STORM if reason == "storm_failure" else 0.0
    if sign == "none":
        if throw.random() > (0.8 if storm else _HIDDEN):
            return None
        return float(fraction(logit(throw.uniform(0.4, 0.75)) + storm))
    bias = _BIAS + _BIAS_OF.get(sign, 0.0) + _BIAS_OF.get(method, 0.0) + storm
    return float(fraction(logit(estimate) + bias + throw.gauss(0, _TREE_SD)))


def _cuts(throw: Random, tree: TreePlan, size: Body, truth: float | None) -> Iterator[CutRecord]:
    toward, off = float(throw.randrange(0, 360, 10)), throw.uniform(0.02, 0.15)
    cracked = truth is not None and truth < 0.3 and throw.random() < 0.5
    for height in _FACES_M:
        radius = _radius_cm(size, height)
        face: dict[str, Any] = {
            "height_m": height,
            "diameter_cm": round(2 * (radius + _BARK_CM), 1),
            "bark_cm": _BARK_CM,
        }
        if truth is not None:
            wall = float(fraction(logit(truth) + _NARROWS * (height - _READ_M) + throw.gauss(0, _CUT_SD)))
            kind = "cavities" if truth < 0.35 else "decay"
            face[kind] = [hollow(radius, wall, toward, off * radius)]
        if cracked and height > 0.4:
            face["cracks"] = [{"azimuth_deg": toward, "gap_to_edge_cm": 1.0, "run_cm": round(0.1 * radius, 1)}]
        yield CutRecord(face, _uid(tree.tag, height))


def hollow(radius_cm: float, wall: float, toward_deg: float, off_cm: float) -> dict[str, float]:
    """A round hollow that leaves a fraction of the radius as its thinnest wall, off the middle toward an azimuth."""
    within = radius_cm * (1 - wall)
    off = min(off_cm, 0.6 * within)
    return {"diameter_cm": round(2 * (within - off), 1), "azimuth_deg": toward_deg, "offset_cm": round(off, 1)}


def _uid(tag: str, height_m: float) -> uuid.UUID:
    return days.key("cut", tag, height_m)
