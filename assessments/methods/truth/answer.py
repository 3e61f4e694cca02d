"""Reads a comparison's JSON request and says its answer in the contract's words."""

from dataclasses import asdict
from typing import Any, Final

from assessments.methods.dissection import read as read_dissection
from assessments.methods.dissection import rebuild
from assessments.methods.evidence import MOST_FINDINGS, TREE_FIELDS, read_finding, read_tree
from assessments.methods.problems import MethodProblem
from assessments.methods.request import Fields, beneath
from assessments.methods.risk import FAILURE
from assessments.methods.section import Section
from assessments.methods.section import read as read_section

from .compare import METHOD, VERSION, Comparison, HeightTruth, compare
from .faults import CrackTruth, DecayTruth
from .predicted import Predicted, Thresholds, method_of

MOST_SECTIONS: Final = 12
FIELDS: Final = ("dissection", "predicted")
PREDICTED: Final = ("sections", "findings", "tree", "likelihood_of_failure", "thresholds")


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compare a dissection with a prediction. Raises MethodProblem that names the wrong fields.

    >>> cut = {"height_m": 1.0, "diameter_cm": 50, "cavities": [{"share_percent": 25}]}
    >>> compute({"dissection": {"cuts": [cut]}, "predicted": {}})["decay"][0]["status"]
    'missed'
    """
    fields = Fields(request, "", FIELDS)
    dissection = fields.needed("dissection")
    try:
        rebuilt = rebuild(read_dissection(dissection))
    except MethodProblem as problem:
        raise beneath("/dissection", problem) from problem
    return as_json(compare(rebuilt, _predicted(fields.inner("predicted", PREDICTED))))


def _predicted(fields: Fields) -> Predicted:
    tree = read_tree(fields.inner("tree", TREE_FIELDS))
    limits = fields.inner("thresholds", ("t_over_r", "loss_percent"))
    default = Thresholds()
    sections = fields.items("sections", MOST_SECTIONS, _section)
    heights = [section.height_m for section, _ in sections]
    for place, height in enumerate(heights):
        if height in heights[:place]:
            raise MethodProblem(f"{fields.at('sections')}/{place}/height_m", "is that of another section")
    return Predicted(
        sections=tuple(section for section, _ in sections),
        methods=tuple(method for _, method in sections),
        findings=fields.items("findings", MOST_FINDINGS, lambda value, at: read_finding(value, at, tree)),
        tree=tree,
        likelihood=fields.choice("likelihood_of_failure", FAILURE, "") or None,
        thresholds=Thresholds(
            limits.maybe("t_over_r", 0, 1, above=True) or default.t_over_r,
            limits.maybe("loss_percent", 0, 100, above=True) or default.loss_percent,
        ),
    )


def _section(value: object, at: str) -> tuple[Section, str]:
    try:
        section = read_section(value)
    except MethodProblem as problem:
        raise beneath(at, problem) from problem
    if section.height_m is None:
        raise MethodProblem(f"{at}/height_m", "is missing")
    return section, method_of(value if isinstance(value, dict) else {})


def as_json(found: Comparison) -> dict[str, Any]:
    """Say a comparison; numbers to four decimals."""
    out: dict[str, Any] = {
        "heights": [_height(one) for one in found.heights],
        "cracks": [_crack(one) for one in found.cracks],
        "decay": [_decay(one) for one in found.decay],
        "threshold": {
            **asdict(found.thresholds),
            "verdict": found.verdict,
            "crossed_at_m": [one.face.cut.height_m for one in found.heights if one.crossed_found],
        },
        "likelihood_of_failure": {"predicted": found.likelihood_predicted, "found": found.likelihood_found},
        "summary": asdict(found.summary),
        "notes": list(found.notes),
        "method": METHOD,
        "version": VERSION,
    }
    rounded: dict[str, Any] = _rounded(out)
    return rounded


def _height(one: HeightTruth) -> dict[str, Any]:
    at = one.predicted
    return {
        "height_m": at.height_m,
        "basis": at.basis,
        "sign": at.sign,
        "away_m": at.away_m,
        "t_over_r": {
            "predicted": None if at.wall is None else asdict(at.wall),
            "found": one.found,
            "error": one.error,
            "held80": one.held(),
            "held95": one.held(95),
        },
        "loss_percent": {
            "predicted": None if at.loss is None else asdict(at.loss),
            "found": one.found_loss,
            "error": one.loss_error,
            "held80": one.loss_held(),
            "held95": one.loss_held(95),
        },
        "hollow": {"predicted": at.hollow, "found": one.face.hollow},
        "overlap_iou": one.overlap_iou,
        "crossed": {"chance": one.chance, "predicted": one.crossed_predicted, "found": one.crossed_found},
    }


def _crack(one: CrackTruth) -> dict[str, Any]:
    track = one.track
    found = None
    if track is not None:
        deepest = track.deepest
        found = {
            "from_m": track.bottom.best_m,
            "to_m": track.top.best_m,
            "azimuth_deg": deepest.azimuth_deg,
            "depth_cm": deepest.depth_cm,
            "gap_cm": deepest.gap_cm,
            "at_m": deepest.height_m,
        }
    return {
        "status": one.status,
        "predicted": None if one.told is None else asdict(one.told),
        "found": found,
        "turn_deg": one.turn_deg,
    }


def _decay(one: DecayTruth) -> dict[str, Any]:
    column = one.column
    return {
        "status": one.status,
        "predicted": None if one.told is None else asdict(one.told),
        "found": None
        if column is None
        else {
            "from_m": column.bottom.best_m,
            "to_m": column.top.best_m,
            "volume_m3": column.volume_m3,
            "widest_cm2": column.widest_cm2,
            "widest_at_m": column.widest_at_m,
        },
    }


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, 4) if isinstance(value, float) else value
