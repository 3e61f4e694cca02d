"""Decay growth of an inspection: each part measured inside, or rotting at roots or butt, over the coming years.

Put together from section, finding, inspection and tree; the policy says the threshold and the chance that is allowed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from assessments import rules, sections
from assessments.methods import decay_growth, risk
from assessments.methods import section as section_method
from assessments.methods.decay_growth import choices, course
from assessments.methods.findings import Finding
from assessments.methods.policy import DecayRule, Policy
from assessments.methods.priority import add_months, months_between_looks
from assessments.records import FindingRecord, InspectionRecord
from inventory.models import Tree

METHOD: Final = decay_growth.METHOD
VERSION: Final = decay_growth.VERSION
KINDS: Final = ("cavity", "decay", "fruiting_body")
# A section without a finding this low is one of the butt; a wound this near belongs to the decay: project's choices.
BUTT_M: Final = 0.3
NEAR_M: Final = 0.5
_POSITIONS: Final = {"stem": "stem", "union": "stem", "root_collar": "butt", "root": "root"}
# How decay was measured inside; a wall told by any other sign of it is an outside sign. Cavities are probed.
_METHODS: Final = {"drilling": "drilling", "tomogram": "acoustic", "probe": "probe"}
# Wood left whole to a ten-thousandth counts as sound.
_WHOLE: Final = 1e-4
# Of a name, as the method takes it.
_LONGEST: Final = 100


@dataclass(frozen=True)
class Part:
    """One decayed part: places in the record of what it is about and what measured it, and the method's request."""

    finding: int | None
    section: int | None
    part: str
    height_m: float | None
    asked: Mapping[str, Any]


@dataclass(frozen=True)
class Computed:
    """What the method made of a part under one policy: the JSON answer, whether there is a band, when it crosses."""

    part: Part
    result: Mapping[str, Any]
    banded: bool
    first_year: int | None

    @property
    def of_root_collar(self) -> bool:
        """Whether the root collar is to be examined, which no band can stand for."""
        return str(self.result["call"]) == decay_growth.ROOT_COLLAR


def rests_on(since: int) -> str:
    """The methods that a result rests on beside its own, and the policy since which the city's numbers hold."""
    methods = ((course.METHOD, course.VERSION), (choices.METHOD, choices.VERSION), (sections.METHOD, sections.VERSION))
    return " ".join([*(f"{name}/{version}" for name, version in methods), f"policy/{since}"])


def asks(record: InspectionRecord) -> bool:
    """Whether a record holds anything that decay growth could be computed of."""
    return bool(record.sections) or any(one.kind in KINDS for one in record.findings)


def compute_all(
    record: InspectionRecord, tree: Tree, computed: Sequence[sections.Computed], rule: DecayRule
) -> tuple[Computed, ...]:
    """Compute each part of a checked record whose sections are computed; those that only outside signs tell of not."""
    found = [compute(part, rule) for part in parts(record, tree, computed)]
    return tuple(one for one in found if one.banded or one.of_root_collar)


def compute(part: Part, rule: DecayRule) -> Computed:
    """Compute one part by the city's rule. Raises MethodProblem for a request that the method refuses."""
    answer = decay_growth.assess(request(part.asked, rule))
    return Computed(part, decay_growth.as_json(answer), answer.course is not None, answer.first_year)


def request(asked: Mapping[str, Any], rule: DecayRule) -> decay_growth.Request:
    """The request of a stored part under a rule. Raises MethodProblem."""
    whole = {**asked, "threshold": {"t_over_r": rule.least_t_over_r}, "chance_percent": rule.chance_percent}
    return decay_growth.read(whole)


def as_computed(asked: Mapping[str, Any], result: Mapping[str, Any]) -> decay_growth.Request:
    """The request of a stored part under the rule that its result was computed by."""
    return request(asked, DecayRule(float(result["threshold"]["t_over_r"]), float(result["chance_percent"])))


def due_on(found: Computed, measured_on: date, rule: DecayRule) -> date | None:
    """The day by which a part is to be measured again; None where it has no band or never crosses within it."""
    if found.first_year is None:
        return None
    months = 12 * found.first_year or rule.crossed_months
    return _later(measured_on, months)


def collar_due_on(record: InspectionRecord, inspected_on: date, policy: Policy) -> date:
    """The day by which the root collar is to be examined: half the policy's interval; sooner, never at once."""
    worst = risk.worst([risk.rate(one.failure, one.impact, one.consequences) for one in record.ratings])
    there = max((risk.code(risk.OCCUPANCY, one.occupancy) for one in record.targets), default=risk.UNKNOWN)
    months = months_between_looks(policy, risk.code(risk.RISK, worst) if worst else risk.UNKNOWN, there)
    halved = months // 2 if policy.decay_halves_interval else months
    return _later(inspected_on, max(halved, 1))


def _later(day: date, months: int) -> date:
    added = add_months(day.toordinal() - date(1970, 1, 1).toordinal(), months)
    return date.fromordinal(int(added) + date(1970, 1, 1).toordinal())


def parts(record: InspectionRecord, tree: Tree, computed: Sequence[sections.Computed]) -> Iterator[Part]:
    """Each decayed part of a record: by the sections first, then the findings that no section looks into."""
    seen = [rules.finding(one) for one in record.findings]
    measured: set[int | None] = set()
    for place, one in enumerate(computed):
        about = _about(record, seen, place, one.result)
        measured.add(about)
        if sections.looked_inside(record.sections[place]) and (about is not None or _decayed(one.result)):
            yield _of_section(record, tree, place, one.result, about)
    for place, finding in enumerate(record.findings):
        if finding.kind in KINDS and place not in measured:
            yield _of_finding(record, tree, place)


def _decayed(result: Mapping[str, Any]) -> bool:
    return float(result["sound_area_cm2"]) < (1 - _WHOLE) * float(result["gross_area_cm2"])


def _about(record: InspectionRecord, seen: Sequence[Finding], place: int, result: Mapping[str, Any]) -> int | None:
    """The finding that a section looks into: the one it names, else the first of the stem at its height."""
    sent = record.sections[place]
    for number, finding in enumerate(seen):
        if finding.kind in KINDS and sections.looks_into(sent, number, finding, result["height_m"]):
            return number
    return None


def _of_section(record: InspectionRecord, tree: Tree, place: int, result: Mapping[str, Any], about: int | None) -> Part:
    finding = None if about is None else record.findings[about]
    height = float(result["height_m"])
    part = finding.part if finding else "root_collar" if height < BUTT_M else "stem"
    asked = {**_asked(record, tree, part, height, finding), **from_section(record.sections[place].measured, result)}
    return Part(about, place, part, height, asked)


def from_section(measured: Mapping[str, Any], result: Mapping[str, Any]) -> dict[str, Any]:
    """The members of a request that a computed section gives: diameter without bark, thinnest wall, its error."""
    readings = section_method.read(dict(measured)).readings
    wall: dict[str, Any] = {"sound_wall_cm": float(result["thinnest_wall_cm"])}
    if readings:
        wall["error_cm"] = min(readings, key=lambda one: one.sound_wall_cm).error_cm
    return {"diameter_cm": sections.diameter(result), "measurements": [wall]}


def _of_finding(record: InspectionRecord, tree: Tree, place: int) -> Part:
    """By the wall that a finding tells of, over bark; without one only where it may be a rot of roots or butt."""
    finding = record.findings[place]
    asked = _asked(record, tree, finding.part, finding.height_m, finding)
    of_stem = finding.part in ("stem", "root_collar")
    diameter = finding.part_diameter_cm or (tree.dbh_cm if of_stem else None)
    shell = finding.measures.get("shell_cm")
    method = _METHODS.get(str(finding.measures.get("indicator", "probe")))
    if shell is not None and method and diameter and float(shell) <= diameter:
        wall = {"sound_wall_cm": float(shell), "method": method}
        asked |= {"diameter_cm": float(diameter), "measurements": [wall]}
    return Part(place, None, finding.part, finding.height_m, asked)


def _asked(
    record: InspectionRecord, tree: Tree, part: str, height_m: float | None, finding: FindingRecord | None
) -> dict[str, Any]:
    """What inspection, findings and tree say of a decayed part, in the words of the method's request."""
    asked: dict[str, Any] = {"position": _POSITIONS.get(part, "limb")}
    if record.shoot_growth:
        asked["vitality"] = record.shoot_growth
    if record.response_growth:
        asked["response_growth"] = record.response_growth
    if tree.species:
        asked["species"] = tree.species.botanical_name[:_LONGEST]
    return asked | _fungus(record, part, finding) | _wound(record, part, height_m)


def _fungus(record: InspectionRecord, part: str, finding: FindingRecord | None) -> dict[str, Any]:
    """The fungus of the finding itself, else of the first finding with one on the same part."""
    fruiting = [one for one in record.findings if one.part == part and one.fungus_genus]
    named = next((one for one in (finding, *fruiting) if one and one.fungus_genus), None)
    if named is None:
        return {}
    return {"fungus": {"genus": named.fungus_genus[:_LONGEST], "confidence": named.fungus_confidence or "guess"}}


def _wound(record: InspectionRecord, part: str, height_m: float | None) -> dict[str, Any]:
    """The first wound on the same part near the decay."""
    for one in record.findings:
        if one.kind != "wound" or one.part != part or not _near(one.height_m, height_m):
            continue
        names = {"width_cm": one.measures.get("width_cm"), "age_years": one.measures.get("years_since")}
        known = {name: float(value) for name, value in names.items() if value is not None}
        if known:
            return {"wound": known}
    return {}


def _near(one_m: float | None, other_m: float | None) -> bool:
    return one_m is None or other_m is None or abs(one_m - other_m) <= NEAR_M


def again(part: Part, measured: Mapping[str, Any] | None, result: Mapping[str, Any] | None) -> Part:
    """A stored part with what the newest result of its section says now."""
    if measured is None or result is None:
        return part
    return replace(part, asked={**part.asked, **from_section(measured, result)})
