"""A finding and the checks that it makes sense: known kind, possible part, values in range and in accord."""

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from .catalogue import FUNGUS_CONFIDENCE, KINDS, PARTS, Kind, Measure, Value

__all__ = [
    "FUNGUS_CONFIDENCE",
    "KINDS",
    "PARTS",
    "Finding",
    "Problem",
    "TreeFacts",
    "check",
    "example",
]

METHOD: Final = "finding_checks"
VERSION: Final = 1

TALLEST_TREE_M: Final = 120.0
THICKEST_PART_CM: Final = 1200.0
# Measured with different tools on different days: project's choice.
TOLERANCE: Final = 1.1


@dataclass(frozen=True)
class TreeFacts:
    """What is known of the tree; None: unknown. `conifer` decides between the two crown-damage thresholds."""

    dbh_cm: float | None = None
    height_m: float | None = None
    conifer: bool | None = None
    dead: bool = False


UNKNOWN_TREE: Final = TreeFacts()


@dataclass(frozen=True)
class Finding:
    """One weakness seen on one part. Heights above ground; azimuth clockwise from north; measures by name."""

    kind: str
    part: str
    part_diameter_cm: float | None = None
    height_m: float | None = None
    azimuth_deg: float | None = None
    measures: Mapping[str, Value] = field(default_factory=dict)
    fungus_genus: str = ""
    fungus_confidence: str = ""


@dataclass(frozen=True)
class Problem:
    """What is wrong: `field` is a name of Finding, or measures.NAME; `detail` says it in words."""

    field: str
    detail: str


def check(finding: Finding, tree: TreeFacts = UNKNOWN_TREE) -> list[Problem]:
    """Check a finding for sense, against the catalogue and what is known of the tree; an empty list is sense.

    >>> [p.field for p in check(Finding("lean", "stem", measures={"type": "natural", "angle_deg": 95}))]
    ['measures.angle_deg']
    """
    kind = KINDS.get(finding.kind)
    if kind is None:
        return [Problem("kind", f"is not one of {', '.join(KINDS)}")]
    problems = [
        *_part_problems(finding, kind, tree),
        *_place_problems(finding, tree),
        *_measure_problems(finding.measures, kind),
        *_fungus_problems(finding, kind),
    ]
    # Only values that stand alone can be compared with each other.
    return problems or [problem for rule in _CONTRADICTIONS for problem in rule(finding, tree)]


def example(kind: str) -> Finding:
    """Give a sensible finding of a kind with every measure set. Raises KeyError for an unknown kind."""
    entry = KINDS[kind]
    return Finding(
        kind=kind,
        part=entry.parts[0],
        part_diameter_cm=None if entry.parts[0] == "crown" else 45.0,
        height_m=entry.example_height_m,
        azimuth_deg=entry.example_azimuth_deg,
        measures={name: measure.example for name, measure in entry.measures.items()},
        fungus_genus="Ganoderma" if kind == "fruiting_body" else "",
        fungus_confidence="probable" if kind == "fruiting_body" else "",
    )


def _number_problem(value: object, least: float, most: float) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "must be a number"
    if not least <= value <= most:  # NaN fails too
        return f"must be {least:g} to {most:g}"
    return ""


def _part_problems(finding: Finding, kind: Kind, tree: TreeFacts) -> Iterator[Problem]:
    if finding.part not in kind.parts:
        yield Problem("part", f"of a {kind.label.lower()} must be one of {', '.join(kind.parts)}")
        return
    if finding.part_diameter_cm is None:
        return
    detail = _number_problem(finding.part_diameter_cm, 0.1, THICKEST_PART_CM)
    times = PARTS[finding.part].most_times_dbh
    if detail:
        yield Problem("part_diameter_cm", detail)
    elif times is None:
        yield Problem("part_diameter_cm", "has no meaning for the crown as a whole")
    elif tree.dbh_cm and finding.part_diameter_cm > times * tree.dbh_cm * TOLERANCE:
        yield Problem("part_diameter_cm", f"is too large for a stem of {tree.dbh_cm:g} cm")


def _place_problems(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.azimuth_deg is not None and (detail := _number_problem(finding.azimuth_deg, 0, 360)):
        yield Problem("azimuth_deg", detail)
    if finding.height_m is None:
        return
    most = PARTS[finding.part].most_height_m if finding.part in PARTS else None
    if detail := _number_problem(finding.height_m, 0, TALLEST_TREE_M):
        yield Problem("height_m", detail)
    elif most is not None and finding.height_m > most:
        yield Problem("height_m", f"of a {PARTS[finding.part].label.lower()} is at most {most:g}")
    elif tree.height_m and finding.height_m > tree.height_m * TOLERANCE:
        yield Problem("height_m", f"is above the top of a tree of {tree.height_m:g} m")


def _measure_problems(measures: Mapping[str, object], kind: Kind) -> Iterator[Problem]:
    for name in measures:
        if name not in kind.measures:
            yield Problem(f"measures.{name}", f"is not a measure of a {kind.label.lower()}")
    for name, measure in kind.measures.items():
        if name in measures:
            if detail := _value_problem(measures[name], measure):
                yield Problem(f"measures.{name}", detail)
        elif measure.required:
            yield Problem(f"measures.{name}", "is required")


def _value_problem(value: object, measure: Measure) -> str:
    if measure.type == "flag":
        return "" if isinstance(value, bool) else "must be true or false"
    if measure.type == "choice":
        return "" if value in measure.choices else f"must be one of {', '.join(measure.choices)}"
    least = -math.inf if measure.least is None else measure.least
    most = math.inf if measure.most is None else measure.most
    detail = _number_problem(value, least, most)
    if not detail and measure.type == "integer" and value != int(value):  # type: ignore[call-overload]
        return "must be a whole number"
    return detail


def _fungus_problems(finding: Finding, kind: Kind) -> Iterator[Problem]:
    genus, confidence = finding.fungus_genus, finding.fungus_confidence
    if genus and not kind.fungus:
        yield Problem("fungus_genus", f"cannot be recorded with a {kind.label.lower()}")
    elif genus and not re.fullmatch(r"[A-Z][a-z]+(-[a-z]+)?", genus):
        yield Problem("fungus_genus", "must be one capitalised genus name")
    if genus and confidence not in FUNGUS_CONFIDENCE:
        yield Problem("fungus_confidence", f"must be one of {', '.join(FUNGUS_CONFIDENCE)}")
    elif confidence and not genus:
        yield Problem("fungus_confidence", "has no genus beside it")


def _diameter_cm(finding: Finding, tree: TreeFacts) -> float | None:
    """Give the diameter that measures of the part must fit into."""
    if finding.part_diameter_cm is not None or finding.part != "stem":
        return finding.part_diameter_cm
    return None if tree.dbh_cm is None else tree.dbh_cm * 2.5


def _fits_part(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    """Depths, walls and widths must fit into the part."""
    diameter = _diameter_cm(finding, tree)
    if diameter is None:
        return
    limits = {
        "shell_cm": diameter / 2,
        "depth_cm": diameter,
        "opening_width_cm": math.pi * diameter,
        "largest_diameter_cm": diameter,
        "diameter_cm": diameter,
    }
    if finding.kind == "wound":
        limits["width_cm"] = math.pi * diameter
    for name, most in limits.items():
        if _at(finding, name) > most * TOLERANCE:
            yield Problem(f"measures.{name}", f"does not fit into a part {diameter:g} cm thick")


def _at(finding: Finding, name: str) -> float:
    value = finding.measures.get(name, -math.inf)
    return float(value) if isinstance(value, int | float) else -math.inf


def _dead_wood_fits_tree(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    for name in ("largest_diameter_cm", "diameter_cm"):
        if tree.dbh_cm and _at(finding, name) > tree.dbh_cm * TOLERANCE:
            yield Problem(f"measures.{name}", f"is thicker than a stem of {tree.dbh_cm:g} cm")


def _soil_is_low(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.measures.get("touches_soil"):
        if finding.part not in ("root", "root_collar", "stem"):
            yield Problem(
                "measures.touches_soil",
                f"cannot be for a {PARTS[finding.part].label.lower()}",
            )
        elif finding.height_m is not None and _crack_foot_m(finding) > 0.5:
            yield Problem(
                "measures.touches_soil",
                "contradicts the height and length of the crack",
            )


def _crack_foot_m(finding: Finding) -> float:
    """Give the lowest height a crack can reach: its height is measured somewhere along its length."""
    length_cm = _at(finding, "length_cm")
    return 0.0 if length_cm < 0 or finding.height_m is None else finding.height_m - length_cm / 100


def _parted_goes_through(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.measures.get("parted") is True and finding.measures.get("through") is False:
        yield Problem("measures.through", "must be true where the part is split in two")


def _fresh_lean_is_recent(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.kind == "lean" and finding.measures.get("type") == "corrected":
        for name in ("fresh_signs", "root_breakage"):
            if finding.measures.get(name) is True:
                yield Problem(
                    f"measures.{name}",
                    "contradicts a lean corrected by growth: call it recent",
                )


def _loss_needs_a_share(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.kind == "cavity" and not {"opening_percent", "opening_width_cm", "depth_cm"} & finding.measures.keys():
        yield Problem(
            "measures.opening_percent",
            "give the opening as a share or a width, or the depth probed",
        )


def _taper_agrees(finding: Finding, tree: TreeFacts) -> Iterator[Problem]:
    if finding.kind == "poor_taper" and finding.part == "stem" and tree.height_m and tree.dbh_cm:
        known = tree.height_m * 100 / tree.dbh_cm
        if not known / 1.5 <= _at(finding, "slenderness") <= known * 1.5:
            yield Problem(
                "measures.slenderness",
                f"does not agree with the tree's own {known:.0f}",
            )


_CONTRADICTIONS: Final[tuple[Callable[[Finding, TreeFacts], Iterator[Problem]], ...]] = (
    _fits_part,
    _dead_wood_fits_tree,
    _soil_is_low,
    _parted_goes_through,
    _fresh_lean_is_recent,
    _loss_needs_a_share,
    _taper_agrees,
)
