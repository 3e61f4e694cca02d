"""A suggested likelihood of failure from findings, by published defect classes, with its reasons and gaps.

Advice to the assessor, who decides. The classes state no time frame: that is the assessor's to state.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from . import tables
from .catalogue import KINDS
from .defect_rules import Rule, diameter_cm, rules_for
from .findings import UNKNOWN_TREE, Finding, TreeFacts
from .risk import FAILURE

METHOD: Final = "likelihood_from_findings"
VERSION: Final = 1

BASES: Final = ("findings", "general_rate")
_CATEGORY: Final = {int(row["class"]): row["category"] for row in tables.read("class_likelihood")}
_GENERAL: Final = "no weakness recorded: the general rate of unremarkable street trees, 0.1-0.5 % a year"


@dataclass(frozen=True)
class Reason:
    """One rule that applied. `begun`: a sign that failure has begun; `act_now`: published as cause to act."""

    text: str
    source: str
    defect_class: int
    begun: bool
    act_now: bool


@dataclass(frozen=True)
class FindingSuggestion:
    """What a finding suggests for its part. `place`: among the findings given; None: the dead tree."""

    place: int | None
    part: str
    category: str
    defect_class: int
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Missing:
    """The measurement that would sharpen a suggestion most: field of the finding at `place`, and why."""

    place: int
    field: str
    why: str


@dataclass(frozen=True)
class Suggestion:
    """The suggested category of the tree, of each part (worst first) and of each finding, with reasons."""

    category: str
    basis: str
    by_part: tuple[tuple[str, str], ...]
    by_finding: tuple[FindingSuggestion, ...]
    reasons: tuple[Reason, ...]
    missing: Missing | None
    method: str = METHOD
    version: int = VERSION


def suggest(findings: Sequence[Finding], tree: TreeFacts = UNKNOWN_TREE) -> Suggestion:
    """Suggest the likelihood of failure from checked findings and what is known of the tree.

    >>> suggest([Finding("lean", "stem", measures={"type": "natural", "angle_deg": 10.0})]).category
    'improbable'
    """
    seen = [*findings, *_dead_tree(tree)]
    if not seen:
        return Suggestion("improbable", "general_rate", (), (), (_general_reason(),), None)
    by_finding = tuple(_one(seen, place, tree, len(findings)) for place in range(len(seen)))
    worst_first = sorted(by_finding, key=lambda one: (-_rank(one.category), -one.defect_class))
    by_part: dict[str, str] = {}
    for one in worst_first:
        by_part.setdefault(one.part, one.category)
    return Suggestion(
        category=worst_first[0].category,
        basis="findings",
        by_part=tuple(by_part.items()),
        by_finding=by_finding,
        reasons=tuple(dict.fromkeys(reason for one in worst_first for reason in one.reasons[:1])),
        missing=_missing(findings, worst_first, tree),
    )


def _rank(category: str) -> int:
    return FAILURE.index(category)


def _dead_tree(tree: TreeFacts) -> list[Finding]:
    """Take a standing dead tree as the finding it is, so that the same rules judge it."""
    if not tree.dead:
        return []
    return [Finding("dead_wood", "crown", measures={"crown_percent": 100})]


def _one(seen: Sequence[Finding], place: int, tree: TreeFacts, given: int) -> FindingSuggestion:
    rules = rules_for(seen, place, tree)
    worst = max(rule.defect_class for rule in rules)
    begun = any(rule.begun for rule in rules)
    return FindingSuggestion(
        place=place if place < given else None,
        part=seen[place].part,
        category="imminent" if begun else _CATEGORY[worst],
        defect_class=worst,
        reasons=tuple(_reason(rule) for rule in rules if _tells(rule, worst)),
    )


def _tells(rule: Rule, worst: int) -> bool:
    """Keep the worst class, signs of begun failure and calls to act as the reasons."""
    return rule.defect_class == worst or rule.begun or rule.act_now


def _reason(rule: Rule) -> Reason:
    return Reason(rule.reason, rule.source, rule.defect_class, rule.begun, rule.act_now)


def _general_reason() -> Reason:
    return Reason(_GENERAL, tables.source("class_likelihood").split(".")[0], 0, begun=False, act_now=False)


def _missing(findings: Sequence[Finding], worst_first: Sequence[FindingSuggestion], tree: TreeFacts) -> Missing | None:
    """Find the first gap, asking the findings that weigh most first."""
    for one in worst_first:
        if one.place is not None and (gap := _gap(findings[one.place], tree)):
            return Missing(one.place, *gap)
    return None


def _gap(finding: Finding, tree: TreeFacts) -> tuple[str, str] | None:
    kind = KINDS[finding.kind]
    name = kind.sharpened_by
    label = kind.label.lower()
    if name and name not in finding.measures:
        return f"measures.{name}", f"{kind.measures[name].label.lower()} decides the class of the {label}"
    if "shell_cm" in finding.measures and diameter_cm(finding, tree) is None:
        return "part_diameter_cm", "the sound wall is judged against the diameter of its part"
    crown_lost = float(finding.measures.get("crown_lost_percent", 0))
    if tree.conifer is None and 30 < crown_lost <= 50:
        return "tree.conifer", "the limit of crown loss differs between broadleaves and conifers"
    return None
