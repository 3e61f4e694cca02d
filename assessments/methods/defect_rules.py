"""The published defect classes as rules read from a table, asked of a finding, its neighbours, its tree.

Sources stand in each row of `tables/defect_classes.csv`; what "together" means here is the project's choice.
"""

import math
import operator
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from . import tables
from .catalogue import KINDS, Value
from .findings import Finding, TreeFacts

METHOD: Final = "defect_classes_usda"
VERSION: Final = 1

# Two findings belong together on the same or adjoining parts when their extents are within this distance, or
# when a height is unknown (on the safe side).
TOGETHER_M: Final = 1.0
_ADJOINING: Final = {
    frozenset(pair.split())
    for pair in (
        "root root_collar",
        "root_collar stem",
        "root stem",
        "stem union",
        "stem limb",
        "stem top",
        "union limb",
        "limb branch",
    )
}
_DECAY: Final = ("decay", "cavity", "fruiting_body")
_UNIONS: Final = ("included_bark_union", "codominant_stems", "previous_split")
_OTHER_DEFECTS: Final = (*_DECAY, *_UNIONS, "canker", "wound", "insect_sign", "root_loss", "girdling_root")

Neighbours: TypeAlias = Sequence[Finding]
Condition: TypeAlias = Callable[[Neighbours, Neighbours, TreeFacts], bool]


def diameter_cm(finding: Finding, tree: TreeFacts) -> float | None:
    """Give the diameter of the part of a finding: as measured, for the stem else the tree's dbh."""
    return finding.part_diameter_cm or (tree.dbh_cm if finding.part in ("stem", "root_collar") else None)


def quantities(finding: Finding, tree: TreeFacts) -> dict[str, Value]:
    """Give the measures of a finding with its part and what follows from them.

    shell_per_six: thinnest sound wall in sixths of the diameter, the "inches in six" of the published rule.
    opening_share: opening in % of the circumference, measured or from its width.

    >>> quantities(Finding("cavity", "stem", 60, measures={"shell_cm": 10}), TreeFacts())["shell_per_six"]
    1.0
    """
    known: dict[str, Value] = {**finding.measures, "part": finding.part}
    diameter = diameter_cm(finding, tree)
    if finding.part_diameter_cm is not None:
        known["part_diameter_cm"] = finding.part_diameter_cm
    if diameter and "shell_cm" in known:
        known["shell_per_six"] = 6 * float(known["shell_cm"]) / diameter
    if "opening_percent" in known:
        known["opening_share"] = known["opening_percent"]
    elif diameter and "opening_width_cm" in known:
        known["opening_share"] = 100 * float(known["opening_width_cm"]) / (math.pi * diameter)
    return known


def together(one: Finding, other: Finding) -> bool:
    """Tell whether two findings touch or lie close enough to weaken the same place."""
    if one.part != other.part and frozenset((one.part, other.part)) not in _ADJOINING:
        return False
    if one.height_m is None or other.height_m is None:
        return True
    reach_m = sum(_extent_cm(finding) for finding in (one, other)) / 200
    return abs(one.height_m - other.height_m) - reach_m <= TOGETHER_M


def _extent_cm(finding: Finding) -> float:
    """Give the extent along the part, whose middle the height is taken to be."""
    names = ("length_cm", "opening_height_cm", "height_cm")
    return max((float(finding.measures[name]) for name in names if name in finding.measures), default=0.0)


def _has_crack(near: Neighbours) -> bool:
    return any(
        finding.kind == "crack"
        or (finding.kind == "seam" and finding.measures.get("type") in ("open", "rib"))
        or (finding.kind == "previous_split" and finding.measures.get("parted") is True)
        for finding in near
    )


def _is_severe(crack: Finding) -> bool:
    return crack.kind in ("crack", "previous_split") and any(
        crack.measures.get(name) is True for name in ("through", "parted", "touches_soil")
    )


def _has_extensive_decay(near: Neighbours, tree: TreeFacts) -> bool:
    return any(
        finding.kind in _DECAY
        and (
            finding.measures.get("extent") == "extensive"
            or float(quantities(finding, tree).get("shell_per_six", math.inf)) <= 1
            or float(quantities(finding, tree).get("opening_share", 0)) > 100 / 3
        )
        for finding in near
    )


def _has(near: Neighbours, kinds: Sequence[str]) -> bool:
    return any(finding.kind in kinds for finding in near)


def _hanging(everywhere: Neighbours) -> bool:
    return any(f.kind == "broken_branch" and f.measures.get("state") != "stub" for f in everywhere)


def _fresh_lift(everywhere: Neighbours) -> bool:
    return any(
        finding.kind == "root_plate_lift"
        and (finding.measures.get("recent") is True or finding.measures.get("soil_crack") is True)
        for finding in everywhere
    )


def _crack_or_extensive(near: Neighbours, tree: TreeFacts) -> bool:
    return _has_crack(near) or _has_extensive_decay(near, tree)


# Each is asked with the findings near this one, all others of the tree, and the tree.
CONDITIONS: Final[Mapping[str, Condition]] = MappingProxyType(
    {
        "": lambda near, others, tree: True,
        "crack": lambda near, others, tree: _has_crack(near),
        "severe_crack": lambda near, others, tree: any(_is_severe(finding) for finding in near),
        "another_defect": lambda near, others, tree: _has(near, _OTHER_DEFECTS),
        "weak_union": lambda near, others, tree: _has(near, _UNIONS),
        "crack_or_decay": lambda near, others, tree: _has_crack(near) or _has(near, _DECAY),
        "crack_and_decay": lambda near, others, tree: _has_crack(near) and _has(near, _DECAY),
        "crack_or_extensive_decay": lambda near, others, tree: _crack_or_extensive(near, tree),
        "crack_union_or_cavity": lambda near, others, tree: _has_crack(near) or _has(near, (*_UNIONS, "cavity")),
        "crack_hanger_or_extensive_decay_anywhere": lambda near, others, tree: (
            _crack_or_extensive(others, tree) or _hanging(others)
        ),
        "root_plate_lift": lambda near, others, tree: _has(others, ("root_plate_lift",)),
        "fresh_plate_lift": lambda near, others, tree: _fresh_lift(others),
        "plate_lift_and_crack_or_extensive_decay": lambda near, others, tree: (
            _has(others, ("root_plate_lift",)) and _crack_or_extensive(near, tree)
        ),
        "broadleaf": lambda near, others, tree: tree.conifer is False,
        "conifer_or_unknown": lambda near, others, tree: tree.conifer is not False,
    }
)

Test: TypeAlias = tuple[str, Callable[[Any, Any], bool], Any]


@dataclass(frozen=True)
class Rule:
    """One row of the table: when it applies to a finding, the class 1 to 4 it gives, why and after whom."""

    name: str
    kinds: tuple[str, ...]
    tests: tuple[Test, ...]
    condition: Condition
    defect_class: int
    begun: bool
    act_now: bool
    source: str
    reason: str

    def applies(self, known: Mapping[str, Value], near: Neighbours, others: Neighbours, tree: TreeFacts) -> bool:
        """Tell whether it applies; only `absent` holds for a quantity that is not known."""
        measured = all(compare(known.get(name), value) for name, compare, value in self.tests)
        return measured and self.condition(near, others, tree)


def _if_known(compare: Callable[[Any, Any], bool]) -> Callable[[Any, Any], bool]:
    return lambda known, value: known is not None and compare(known, value)


_COMPARISONS: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "=": _if_known(operator.eq),
    "!=": _if_known(operator.ne),
    ">": _if_known(operator.gt),
    ">=": _if_known(operator.ge),
    "<=": _if_known(operator.le),
    "in": _if_known(lambda known, words: known in words),
    "absent": lambda known, value: known is None,
}


def _test(text: str) -> Test:
    match = re.fullmatch(r"(\w+) (=|!=|>=|<=|>|in|absent) ?(.*)", text)
    if not match:
        raise ValueError(f"defect_classes.csv: cannot read the condition {text!r}")
    name, comparison, value = match.groups()
    return name, _COMPARISONS[comparison], _value(comparison, value)


def _value(comparison: str, text: str) -> Any:
    if comparison == "in":
        return tuple(text.split())
    if comparison in (">", ">=", "<="):
        return float(text)
    return {"true": True, "false": False}.get(text, text)


def _rule(row: Mapping[str, str]) -> Rule:
    kinds = tuple(row["kinds"].split())
    if not set(kinds) <= KINDS.keys():
        raise ValueError(f"defect_classes.csv: unknown kind in {row['kinds']}")
    return Rule(
        name=row["rule"],
        kinds=kinds,
        tests=tuple(_test(text) for text in row["when"].split(" and ") if text),
        condition=CONDITIONS[row["with"]],
        defect_class=int(row["class"]),
        begun=row["begun"] == "yes",
        act_now=row["act_now"] == "yes",
        source=_source(row["source"]),
        reason=row["reason"],
    )


_SOURCES: Final = {
    "TP": "USDA NA-TP-03-03",
    "FR": "USDA NA-FR-01-96",
    "R6": "USDA Forest Service Region 6 criteria",
    "choice": "project's choice",
}


def _source(text: str) -> str:
    return re.sub(r"\b(TP|FR|R6|choice)\b", lambda match: _SOURCES[match.group()], text)


RULES: Final = tuple(_rule(row) for row in tables.read("defect_classes"))


def rules_for(findings: Sequence[Finding], place: int, tree: TreeFacts) -> list[Rule]:
    """Give the rules that apply to the finding at `place` among those of a tree, the worst first."""
    finding = findings[place]
    others = [other for number, other in enumerate(findings) if number != place]
    near = [other for other in others if together(finding, other)]
    known = quantities(finding, tree)
    found = [rule for rule in RULES if finding.kind in rule.kinds and rule.applies(known, near, others, tree)]
    return sorted(found, key=lambda rule: (-rule.begun, -rule.defect_class, not rule.act_now))
