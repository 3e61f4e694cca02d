"""Inspections in: checked, rated by the methods, stored once, with everything that follows from them."""

import uuid
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeAlias

from django.db import IntegrityError
from django.utils import timezone

from assessments import calibrations, decay_growths, inputs, rules, sections, stem_loads, suggestions
from assessments.methods.policy import Policy
from assessments.models import Finding, Inspection
from assessments.records import ActionRecord, InspectionRecord, fingerprint
from assessments.restate import restate
from assessments.services import emergencies, growths, rows
from assessments.services.checks import settle_checks
from assessments.services.emergencies import Emergency
from assessments.suggestions import Suggestions
from inventory import calendar, events
from inventory.history import Author
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, FieldProblem, Invalid

Entry: TypeAlias = tuple[Tree, InspectionRecord]


@dataclass(frozen=True)
class Recorded:
    """The stored inspection, whether it is new, and, where it is one, the answer to the emergency."""

    inspection: Inspection
    created: bool
    emergency: Emergency | None


def preview(tree: Tree, record: InspectionRecord, today: date) -> Suggestions:
    """Suggest for a record without storing anything. Raises Invalid for findings or targets that make no sense."""
    return _suggest(tree, record, today, _city([record]))


def record_inspection(
    author: Author, tree: Tree, record: InspectionRecord, today: date, *, now: datetime | None = None
) -> tuple[Inspection, bool]:
    """Store one inspection with all that follows: checks opened and closed, emergency raised, priority restated.

    The same uid and content give the stored one (and False) for ever. Raises Invalid for a record that breaks a rule,
    Conflict for a uid with other content or a tree removed before it was inspected, and changes nothing then.
    `now` tells how long an emergency took to reach us.
    """
    recorded = record_inspections(author, [(tree, record)], today, now=now)[0]
    return recorded.inspection, recorded.created


def record_inspections(
    author: Author, entries: Sequence[Entry], today: date, *, now: datetime | None = None
) -> list[Recorded]:
    """Store many inspections, all or none, in the number of statements that one takes. Raises as for one."""
    now = now or timezone.now()
    with author.acting("inspection recorded"):
        trees = _locked(entries)
        stored = Inspection.objects.in_bulk([record.uid for _, record in entries], field_name="uid")
        fresh = _fresh(entries, stored)
        city = _city([record for _, record in fresh])
        prepared = [_prepare(author, trees[tree.pk], record, today, city) for tree, record in fresh]
        _continue(prepared)
        try:
            rows.insert(author, prepared)
            growths.insert(prepared)
        except IntegrityError as error:
            raise _refused(error) from error
        _follow_up(author, prepared, now)
    made = {one.inspection.uid: one.inspection for one in prepared}
    return [_recorded(record, made, stored, now) for _, record in entries]


@dataclass(frozen=True)
class City:
    """What the city says of its records; each None where no record asks for it.

    The policy in force says its wind and decay's threshold; the calibration what its dissected trees taught.
    """

    policy: Policy | None
    calibration: calibrations.InForce | None


def _city(records: Sequence[InspectionRecord]) -> City:
    asked = any(record.stem_load or decay_growths.asks(record) for record in records)
    policy = inputs.policy_in_force()[1] if asked else None
    walls = any(calibrations.asks(record) for record in records)
    return City(policy, calibrations.in_force() if walls else None)


def _locked(entries: Sequence[Entry]) -> dict[int, Tree]:
    """The trees, locked against others who write facts of them: of two, the later one sees the earlier one's."""
    ids = {tree.pk for tree, _ in entries}
    locked = Tree.objects.select_for_update(no_key=True, of=("self",)).filter(pk__in=ids).order_by("pk")
    return {tree.pk: tree for tree in locked.select_related("species")}


def _fresh(entries: Sequence[Entry], stored: dict[uuid.UUID, Inspection]) -> list[Entry]:
    """The records that are not stored yet, each once. Raises Conflict for a uid with other content."""
    fresh: dict[uuid.UUID, Entry] = {}
    for tree, record in entries:
        known = stored.get(record.uid)
        said = known.content_sha256 if known else _said(fresh.get(record.uid))
        if said is None:
            fresh[record.uid] = (tree, record)
        elif said != fingerprint(tree.uid, record):
            raise Conflict(f"inspection {record.uid} is recorded already with other content")
    return list(fresh.values())


def _said(entry: Entry | None) -> str | None:
    return fingerprint(entry[0].uid, entry[1]) if entry else None


def _prepare(author: Author, tree: Tree, record: InspectionRecord, today: date, city: City) -> rows.Prepared:
    """Check one record and work out all that is stored of it. Raises Invalid or Conflict."""
    suggested = _suggest(tree, record, today, city)
    cause = rules.emergency_cause(record)
    wrong = list(suggestions.undecided(record, suggested))
    if record.actions and not cause:
        wrong.append(FieldProblem("#/actions", "this record is no emergency"))
    if wrong:
        raise Invalid.fields(wrong)
    on = calendar.municipal_date(record.inspected_at)
    if cause and tree.state not in STANDING:
        raise Conflict(f"the tree is {tree.state} since {tree.removed_on}: the emergency is over")
    if tree.removed_on and on > tree.removed_on:
        raise Conflict(f"the tree was removed on {tree.removed_on}, before this inspection")
    inspection = rows.inspection(author, tree, record, on, cause)
    return rows.Prepared(record, inspection, suggested, city.policy)


def _suggest(tree: Tree, record: InspectionRecord, today: date, city: City) -> Suggestions:
    if record.inspected_at.tzinfo is None:
        raise Invalid.field("#/inspected_at", "must carry its offset from UTC")
    facts = inputs.facts(tree)
    wrong = rules.problems(record, facts, calendar.municipal_date(record.inspected_at), today)
    computed, refused = sections.compute_all(record)
    if wrong or refused:
        raise Invalid.fields([*wrong, *refused])
    load, refused = stem_loads.compute_for(record, tree, computed, city.policy)
    if refused:
        raise Invalid.fields(refused)
    seen = [rules.finding(one) for one in record.findings]
    corrections = calibrations.correct_all(city.calibration, record, seen, tree)
    suggested = suggestions.suggest(record, facts, computed, load, corrections)
    if city.policy is None:
        return suggested
    grown = decay_growths.compute_all(record, tree, computed, city.policy.decay_growth)
    return replace(suggested, decay=grown)


def _continue(prepared: Sequence[rows.Prepared]) -> None:
    """Find the findings that others continue. Raises Invalid where it is not an earlier one of the same tree."""
    wanted = {f.continues for one in prepared for f in one.record.findings if f.continues}
    if not wanted:
        return
    earlier = Finding.objects.select_related("inspection").in_bulk(wanted, field_name="uid")
    for one in prepared:
        for place, finding in enumerate(one.record.findings):
            if finding.continues:
                found = earlier.get(finding.continues)
                if detail := _cannot_continue(found, one.inspection):
                    raise Invalid.field(f"#/findings/{place}/continues", detail)
                one.earlier[place] = found


def _cannot_continue(found: Finding | None, inspection: Inspection) -> str:
    if found is None or found.inspection.tree_id != inspection.tree_id:
        return "there is no such finding of this tree"
    if found.inspection.inspected_at >= inspection.inspected_at:
        return "that finding was not seen before this inspection"
    return ""


def _refused(error: IntegrityError) -> Exception:
    """A client-made uid that is taken is the client's to answer for; anything else is ours."""
    for noun in (
        "inspection",
        "finding",
        "section",
        "stem_load",
        "target",
        "rating",
        "required_check",
        "emergency_action",
    ):
        if f'"{noun}_uid_key"' in str(error):
            return Conflict(f"a {noun.replace('_', ' ')} with one of these uids is recorded already")
    return error


def _follow_up(author: Author, prepared: Sequence[rows.Prepared], now: datetime) -> None:
    if not prepared:
        return
    trees = sorted({one.inspection.tree_id for one in prepared})
    settle_checks(trees)
    _tell(author, prepared, now)
    restate(trees)


def _tell(author: Author, prepared: Sequence[rows.Prepared], now: datetime) -> None:
    """One event for an inspection, one for many at once; each emergency has its own."""
    if len(prepared) == 1:
        seen = prepared[0].inspection
        data = {"on": seen.inspected_on.isoformat(), "level": seen.level, "risk": prepared[0].worst}
        events.record(author, "inspection.recorded", "inspection", seen.uid, tree_id=seen.tree_id, data=data)
    else:
        levels = Counter(one.inspection.level for one in prepared)
        events.record(author, "inspections.recorded", "inspection", data={"count": len(prepared), **levels})
    for one in prepared:
        if one.inspection.emergency:
            _raise(author, one, now)


def _raise(author: Author, one: rows.Prepared, now: datetime) -> None:
    answer = emergencies.answer(one.inspection, _actions(one.record), now)
    data = {
        "cause": answer.cause,
        "late": answer.late,
        "age_hours": answer.age_hours,
        "unanswered": list(answer.unanswered),
    }
    tree = one.inspection.tree_id
    events.record(author, "emergency.raised", "inspection", one.inspection.uid, tree_id=tree, data=data)


def _actions(record: InspectionRecord) -> list[ActionRecord]:
    return [record.actions] if record.actions else []


def _recorded(
    record: InspectionRecord,
    made: dict[uuid.UUID, Inspection],
    stored: dict[uuid.UUID, Inspection],
    now: datetime,
) -> Recorded:
    inspection = made.get(record.uid) or stored[record.uid]
    emergency = emergencies.answer(inspection, _actions(record), now) if inspection.emergency else None
    return Recorded(inspection, record.uid in made, emergency)
