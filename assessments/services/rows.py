"""The rows of a record: what is stored of each inspection, inserted table by table for any number at once."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from assessments import calibrations, decay_growths, rules, sections, stem_loads, suggestions
from assessments.methods import risk
from assessments.methods.policy import Policy
from assessments.models import (
    EmergencyAction,
    Finding,
    Inspection,
    Rating,
    RequiredCheck,
    Section,
    SectionCorrection,
    SectionResult,
    StemLoad,
    StemLoadResult,
    Target,
)
from assessments.records import InspectionRecord, fingerprint, part_uid
from assessments.services.emergencies import action_row
from assessments.suggestions import Suggestions
from inventory.history import Author
from inventory.models import Tree


@dataclass
class Prepared:
    """A checked record on its way into the tables; `earlier` holds what its findings continue, by place."""

    record: InspectionRecord
    inspection: Inspection
    suggested: Suggestions
    policy: Policy | None = None
    earlier: dict[int, Finding | None] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    targets: list[Target] = field(default_factory=list)
    sections: list[Section] = field(default_factory=list)

    @property
    def worst(self) -> str:
        """The worst risk that was decided, empty where nothing was rated."""
        return risk.worst([risk.rate(r.failure, r.impact, r.consequences) for r in self.record.ratings])


_SAME = (
    *("uid", "inspected_at", "level", "trigger", "limits", "frame_years", "note"),
    *("crown_density_percent", "dieback_percent", "shoot_growth", "response_growth"),
    *("wind_exposure", "wind_change", "root_zone_change", "past_failure", "past_pruning"),
)


def inspection(author: Author, tree: Tree, record: InspectionRecord, on: date, cause: str) -> Inspection:
    """The row of the inspection itself."""
    return Inspection(
        **{name: getattr(record, name) for name in _SAME},
        content_sha256=fingerprint(tree.uid, record),
        tree=tree,
        inspector_id=author.user_id,
        inspected_on=on,
        emergency=cause,
    )


def insert(author: Author, prepared: Sequence[Prepared]) -> None:
    """Insert the inspections and all their parts."""
    Inspection.objects.bulk_create([one.inspection for one in prepared])
    for one in prepared:
        one.findings = [_finding(one, place) for place in range(len(one.record.findings))]
        one.targets = [_target(one, place) for place in range(len(one.record.targets))]
    Finding.objects.bulk_create([row for one in prepared for row in one.findings])
    Target.objects.bulk_create([row for one in prepared for row in one.targets])
    _insert_sections(prepared)
    _insert_stem_loads(prepared)
    Rating.objects.bulk_create([_rating(one, place) for one in prepared for place in range(len(one.record.ratings))])
    RequiredCheck.objects.bulk_create([row for one in prepared for row in _checks(author, one)])
    EmergencyAction.objects.bulk_create(
        [
            action_row(author, one.inspection, action, part_uid(one.record, "actions", 0, action.uid))
            for one in prepared
            if (action := one.record.actions)
        ]
    )


def _finding(one: Prepared, place: int) -> Finding:
    said = one.record.findings[place]
    return Finding(
        uid=part_uid(one.record, "finding", place, said.uid),
        inspection=one.inspection,
        continues=one.earlier.get(place),
        kind=said.kind,
        part=said.part,
        part_diameter_cm=said.part_diameter_cm,
        height_m=said.height_m,
        azimuth_deg=said.azimuth_deg,
        measures=dict(said.measures),
        fungus_genus=said.fungus_genus,
        fungus_confidence=said.fungus_confidence or None,
        note=said.note,
    )


def _insert_sections(prepared: Sequence[Prepared]) -> None:
    for one in prepared:
        one.sections = [_section(one, place) for place in range(len(one.suggested.sections))]
    made = [pair for one in prepared for pair in zip(one.sections, one.suggested.sections, strict=True)]
    Section.objects.bulk_create([section for section, _ in made])
    SectionResult.objects.bulk_create([section_result(section, found) for section, found in made])
    _insert_corrections(prepared)


def _insert_corrections(prepared: Sequence[Prepared]) -> None:
    SectionCorrection.objects.bulk_create(
        [
            section_correction(section, fixed)
            for one in prepared
            if one.suggested.corrections
            for section, fixed in zip(one.sections, one.suggested.corrections.sections, strict=True)
            if fixed
        ]
    )


def section_correction(section: Section, fixed: calibrations.Correction) -> SectionCorrection:
    """The row of what a calibration makes of a section; not yet saved."""
    result = calibrations.as_json(fixed)
    return SectionCorrection(section=section, calibration_id=fixed.calibration, result=result)


def _section(one: Prepared, place: int) -> Section:
    said = one.record.sections[place]
    return Section(
        uid=part_uid(one.record, "section", place, said.uid),
        inspection=one.inspection,
        finding=None if said.finding is None else one.findings[said.finding],
        height_m=said.measured["height_m"],
        measured=dict(said.measured),
    )


def section_result(section: Section, found: sections.Computed) -> SectionResult:
    """The row of what the method, as it is now, made of a section; not yet saved."""
    return SectionResult(
        section=section, method=sections.METHOD, version=sections.VERSION, draws=found.draws, result=dict(found.result)
    )


def _insert_stem_loads(prepared: Sequence[Prepared]) -> None:
    made = [(_stem_load(one, found), found) for one in prepared if (found := one.suggested.stem_load)]
    StemLoad.objects.bulk_create([load for load, _ in made])
    StemLoadResult.objects.bulk_create([stem_load_result(load, found) for load, found in made])


def _stem_load(one: Prepared, found: stem_loads.Computed) -> StemLoad:
    said = one.record.stem_load
    assert said is not None  # noqa: S101 - it was computed from it
    return StemLoad(
        uid=part_uid(one.record, "stem_load", 0, said.uid),
        inspection=one.inspection,
        measured=dict(said.measured),
        filled=dict(found.filled),
    )


def stem_load_result(load: StemLoad, found: stem_loads.Computed) -> StemLoadResult:
    """The row of what the methods, as they are now, made of a stem load; not yet saved."""
    return StemLoadResult(
        stem_load=load,
        method=stem_loads.METHOD,
        version=stem_loads.VERSION,
        rests_on=stem_loads.rests_on(),
        result=dict(found.result),
    )


def _target(one: Prepared, place: int) -> Target:
    said = one.record.targets[place]
    return Target(
        uid=part_uid(one.record, "target", place, said.uid),
        inspection=one.inspection,
        kind=said.kind,
        label=said.label,
        occupancy=said.occupancy,
        exposure=said.exposure,
        fall_direction=said.fall_direction,
        zone=said.zone,
        movable=said.movable,
        restrictable=said.restrictable,
    )


def _rating(one: Prepared, place: int) -> Rating:
    said = one.record.ratings[place]
    suggested = suggestions.for_rating(said, one.suggested)
    return Rating(
        uid=part_uid(one.record, "rating", place, said.uid),
        inspection=one.inspection,
        finding=None if said.finding is None else one.findings[said.finding],
        target=one.targets[said.target],
        part=said.part,
        failure_suggested=suggested.failure,
        failure=said.failure,
        impact_suggested=suggested.impact,
        impact=said.impact,
        consequences=said.consequences,
        why_different=said.why_different or suggestions.why_uncorrected(said, suggested),
        failure_and_impact=risk.failure_and_impact(said.failure, said.impact),
        risk=risk.rate(said.failure, said.impact, said.consequences),
        suggestion=suggested.about,
        method_version=one.suggested.methods,
    )


def _checks(author: Author, one: Prepared) -> list[RequiredCheck]:
    """The checks that the assessor asks for, the follow-up of an emergency, a root collar that may rot."""
    base = {
        "tree": one.inspection.tree,
        "inspection": one.inspection,
        "asked_by_id": author.user_id,
        "asked_on": one.inspection.inspected_on,
    }
    asked = [
        RequiredCheck(
            uid=part_uid(one.record, "check", place, said.uid),
            kind=said.kind,
            due_on=said.due_on,
            why=said.why,
            source="assessor",
            **base,
        )
        for place, said in enumerate(one.record.checks)
    ]
    if one.inspection.emergency:
        asked.append(
            RequiredCheck(
                uid=part_uid(one.record, "follow-up", 0, None),
                kind="reinspect",
                due_on=one.inspection.inspected_on + rules.EMERGENCY_FOLLOW_UP,
                why="follow-up of an emergency",
                source="emergency",
                **base,
            )
        )
    if one.policy and any(found.of_root_collar for found in one.suggested.decay):
        asked.append(
            RequiredCheck(
                uid=part_uid(one.record, "root-collar", 0, None),
                kind="root_collar",
                due_on=decay_growths.collar_due_on(one.record, one.inspection.inspected_on, one.policy),
                why="a rot of roots or butt is likely: its extent cannot be told from the stem",
                source="decay",
                **base,
            )
        )
    return asked
