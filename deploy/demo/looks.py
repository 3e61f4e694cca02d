"""How an invented inspector records a tree: findings of the day, targets of the street, ratings by the methods."""

import math
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Any, Final

from assessments import inputs, suggestions
from assessments.methods import risk
from assessments.methods.findings import TreeFacts
from assessments.records import (
    AskedCheck,
    FindingRecord,
    InspectionRecord,
    RatingRecord,
    SectionRecord,
    StemLoadRecord,
    TargetRecord,
    part_uid,
)
from deploy.demo import days
from deploy.demo.dice import dice, pick
from deploy.demo.growth import Body, body
from deploy.demo.stock import TreePlan
from deploy.demo.troubles import Trouble

_SMALL_PARTS: Final = ("crown", "branch")


@dataclass
class Case:
    """A tree under observation: its troubles, when work ended them, and the uid under which each was seen last.

    `ended` holds the years since the take-over by place in `troubles`. `targets`: others than those of the street.
    `section`: what an advanced look measures of the first trouble; `stem_load`: of crown and stem.
    """

    plan: TreePlan
    troubles: list[Trouble]
    targets: tuple[TargetRecord, ...] = ()
    section: Mapping[str, Any] | None = None
    stem_load: Mapping[str, Any] | None = None
    ended: dict[int, float] = field(default_factory=dict)
    seen_as: dict[int, uuid.UUID] = field(default_factory=dict)

    @cached_property
    def size(self) -> Body:
        """Its sizes as known, else as they truly are now."""
        return self.plan.newest or body(self.plan.grown, self.plan.age_years)

    @property
    def facts(self) -> TreeFacts:
        """What the methods want to know of it, as the service will read it from the rows."""
        known = self.plan.newest
        return TreeFacts(
            dbh_cm=known.dbh_cm if known else None,
            height_m=known.height_m if known else None,
            conifer=self.plan.species.family in inputs.CONIFER_FAMILIES,
            dead=self.plan.state == "dead",
        )


@dataclass(frozen=True)
class Look:
    """One inspection to be recorded: which tree, by whom, what was sent."""

    tag: str
    inspector: str
    record: InspectionRecord

    @property
    def on(self) -> date:
        """The day of it."""
        return self.record.inspected_at.date()

    @property
    def worst(self) -> str:
        """The worst risk decided in it, empty where nothing was rated."""
        return risk.worst([risk.rate(r.failure, r.impact, r.consequences) for r in self.record.ratings])


@dataclass(frozen=True)
class Visit:
    """A look that will be made: which tree, when, by whom, how."""

    tag: str
    on: date
    inspector: str
    level: str
    trigger: str


def look(case: Case, visit: Visit, years: float) -> Look:
    """Record a visit. A limited look notes what it sees and rates nothing; visits are to be made in order of time."""
    level, trigger = visit.level, visit.trigger
    throw = dice("look", case.plan.tag, trigger, years)
    visible = [n for n, trouble in enumerate(case.troubles) if trouble.began <= years <= case.ended.get(n, math.inf)]
    if level == "limited_visual":
        visible = [n for n in visible if case.troubles[n].kind in _FROM_AFAR]
    findings = [replace(case.troubles[n].seen(years), continues=case.seen_as.get(n)) for n in visible]
    record = InspectionRecord(
        uid=days.key("inspection", case.plan.tag, trigger, f"{years:.3f}"),
        inspected_at=days.at(visit.on, case.plan.tag),
        level=level,
        trigger=trigger,
        limits=_limits(throw.random(), level),
        findings=tuple(findings),
        sections=_sections(case, visit, visible),
        stem_load=StemLoadRecord(case.stem_load) if level == "advanced" and case.stem_load else None,
        **_vigour(case, findings),
    )
    if level != "limited_visual":
        record = _rated(case, record, case.targets or of_place(case))
    for place, n in enumerate(visible):
        case.seen_as[n] = part_uid(record, "finding", place, None)
    return Look(case.plan.tag, visit.inspector, record)


def _sections(case: Case, visit: Visit, visible: Sequence[int]) -> tuple[SectionRecord, ...]:
    if visit.level != "advanced" or case.section is None or 0 not in visible:
        return ()
    return (SectionRecord(case.section, finding=visible.index(0)),)


_FROM_AFAR: Final = frozenset(
    {"dead_wood", "broken_branch", "lean", "storm_damage", "overextended_limb", "codominant_stems", "cavity"}
)


def _limits(chance: float, level: str) -> str:
    if level == "limited_visual":
        return "seen from the pavement on one side"
    if chance < 0.06:
        return "ivy up to 3 m: the stem below it was not seen"
    return "parked cars: root collar seen from two sides only" if chance < 0.1 else ""


def _vigour(case: Case, findings: Sequence[FindingRecord]) -> dict[str, Any]:
    throw, bad = dice("vigour", case.plan.tag), 6.0 * len(findings)
    if case.plan.state == "dead":
        nothing = {"shoot_growth": "none", "response_growth": "none"}
        return {"crown_density_percent": 0.0, "dieback_percent": 100.0, **nothing}
    density = round(min(100.0, max(30.0, throw.gauss(88, 7) - bad)) / 5) * 5
    return {
        "crown_density_percent": float(density),
        "dieback_percent": float(min(95, max(0, round((100 - density) / 3)))),
        "shoot_growth": pick(throw, (("normal", 0.8), ("low", 0.15), ("high", 0.05))),
        "response_growth": pick(throw, (("some", 0.5), ("good", 0.2), ("none", 0.3))),
        "wind_exposure": {"lane": "protected", "square": "protected", "green": "full", "quay": "full"}.get(
            case.plan.spot.kind, "partial"
        ),
        "root_zone_change": pick(throw, (("none", 0.86), ("compaction", 0.08), ("paving", 0.06))),
        "past_pruning": pick(throw, (("cleaning", 0.4), ("raising", 0.35), ("none", 0.2), ("reduction", 0.05))),
    }


# Who is under the trees of each kind of place: kind, label, how often, how openly.
_ON_FOOT: Final = "people on the pavement"
_UNDER: Final[dict[str, tuple[tuple[str, str, str, str], ...]]] = {
    "avenue": (("people", _ON_FOOT, "frequent", "full"), ("vehicles", "traffic", "frequent", "partial")),
    "ring": (("people", "people on the promenade", "constant", "partial"), ("vehicles", "traffic", "frequent", "full")),
    "embankment": (("people", "people on the river walk", "frequent", "full"),),
    "square": (("people", "market visitors", "constant", "partial"),),
    "lane": (("people", "people in the lane", "frequent", "partial"),),
    "grid": (("people", _ON_FOOT, "frequent", "full"), ("vehicles", "parked cars", "frequent", "partial")),
    "residential": (("people", _ON_FOOT, "occasional", "full"),),
    "garden": (("people", _ON_FOOT, "occasional", "full"), ("building", "house", "constant", "partial")),
    "quay": (("vehicles", "lorries and yard traffic", "occasional", "full"),),
    "green": (("people", "visitors of the green", "occasional", "full"),),
}


def of_place(case: Case) -> tuple[TargetRecord, ...]:
    """The targets of a place; a house only under a tree that can reach it."""
    reaches = case.size.height_m > 11
    return tuple(
        TargetRecord(kind, label, occupancy, exposure, zone="one_height" if kind == "building" else "drip_line",
                     movable=label == "parked cars", restrictable=kind == "people")
        for kind, label, occupancy, exposure in _UNDER[case.plan.spot.kind]
        if kind != "building" or reaches
    )  # fmt: skip


def _rated(case: Case, record: InspectionRecord, targets: tuple[TargetRecord, ...]) -> InspectionRecord:
    """Add targets, ratings and checks: the suggested words, now and then one step lower with its reason."""
    record = replace(record, targets=targets, frame_years=3)
    told = suggestions.suggest(record, case.facts)
    wanted: list[tuple[str, int | None, int]] = [
        (finding.part, place, target)
        for place, finding in enumerate(record.findings)
        for target in (range(len(targets)) if finding.part not in _SMALL_PARTS else (0,))
    ]
    if not record.findings or case.plan.state == "dead":
        wanted.append(("crown", None, 0))
    ratings = tuple(_rating(case, record, told, *one) for one in dict.fromkeys(wanted))
    record = replace(record, ratings=ratings)
    return replace(record, checks=_checks(case, record))


def _rating(
    case: Case, record: InspectionRecord, told: suggestions.Suggestions, part: str, finding: int | None, target: int
) -> RatingRecord:
    consequences = _consequences(case, record, part, finding, record.targets[target].kind)
    blank = RatingRecord(part, target, "improbable", "very_low", consequences, finding)
    suggested = suggestions.for_rating(blank, told)
    decided = replace(blank, failure=suggested.failure, impact=suggested.impact)
    throw = dice("decision", case.plan.tag, part, finding, target)
    if suggested.failure in ("possible", "probable") and finding is not None and throw.random() < 0.06:
        lower = risk.FAILURE[risk.FAILURE.index(suggested.failure) - 1]
        return replace(decided, failure=lower, why_different="good response growth around it, unchanged for years")
    return decided


def _consequences(case: Case, record: InspectionRecord, part: str, finding: int | None, target_kind: str) -> str:
    thick = case.size.dbh_cm
    if part in _SMALL_PARTS or part in ("limb", "top"):
        thick = _piece_cm(record, finding, thick)
        word = "negligible" if thick < 3 else "minor" if thick < 9 else "significant" if thick < 20 else "severe"
    else:
        word = "minor" if thick < 18 else "significant" if thick < 45 else "severe"
    if target_kind not in ("people", "vehicles") and word == "severe":
        return "significant"
    return word


def _piece_cm(record: InspectionRecord, finding: int | None, dbh_cm: float) -> float:
    """The thickness of the piece that would fall."""
    if finding is None:
        return dbh_cm / 8
    said = record.findings[finding]
    for name in ("largest_diameter_cm", "diameter_cm"):
        if name in said.measures:
            return float(said.measures[name])
    return said.part_diameter_cm or dbh_cm / 6


def _checks(case: Case, record: InspectionRecord) -> tuple[AskedCheck, ...]:
    """What an assessor asks for beyond the interval of the policy."""
    throw, probable = dice("checks", case.plan.tag, record.uid), any(r.failure == "probable" for r in record.ratings)
    on = record.inspected_at.date()
    if not probable or throw.random() > 0.3:
        return ()
    kinds = {finding.kind for finding in record.findings}
    if kinds & {"cavity", "decay", "fruiting_body"} and throw.random() < 0.6:
        due = date.fromordinal(on.toordinal() + 120)
        return (AskedCheck("advanced_diagnosis", due, "how much sound wood is left is not known"),)
    due = date.fromordinal(on.toordinal() + 365)
    return (AskedCheck("reinspect", due, "see whether the weakness has grown"),)
