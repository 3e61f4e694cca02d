"""Storms in, with the checks that a forester asks for after one; failures in, late or twice as they come."""

import uuid
from datetime import date
from typing import Final, TypeVar

from django.db import IntegrityError
from django.db.models import Exists, OuterRef, QuerySet

from assessments.methods import risk
from assessments.models import Failure, Finding, Inspection, RequiredCheck, Storm, StormGust
from assessments.records import fingerprint
from assessments.restate import restate
from assessments.services.marks import mark_trees
from assessments.storm_records import FailureRecord, StormRecord, failure_problems, storm_problems
from inventory import events
from inventory.history import Author
from inventory.models import Tree, Zone
from inventory.models.tree import STANDING
from inventory.problems import Conflict, FieldProblem, Invalid

M = TypeVar("M", Storm, Failure)
# What failures and storms are fingerprinted about: a storm is of the whole city.
_CITY: Final = uuid.UUID(int=0)
# More trees than this get their new dates from the next pass.
AT_ONCE: Final = 100
_BATCH: Final = 5_000


def record_storm(author: Author, record: StormRecord, today: date) -> tuple[Storm, bool]:
    """Store a storm with its gusts and ask for the checks that it says; return it and whether it is new.

    The same uid and content give the stored one for ever. Raises Invalid for a record that breaks a rule, Conflict
    for a uid with other content.
    """
    with author.acting(f"storm recorded: {record.name}"[:500]):
        stored = Storm.objects.select_for_update().filter(uid=record.uid).first()
        if stored is not None:
            return _same(stored, fingerprint(_CITY, record), "storm"), False
        zones = _zones(record)
        wrong = [*storm_problems(record, today), *_unknown(record, zones)]
        if wrong:
            raise Invalid.fields(wrong)
        trees = _trees_to_check(record, zones)
        storm = _store_storm(author, record, zones, len(trees))
        _ask_checks(author, storm, record, trees, today)
        data = {"name": record.name, "began_on": record.began_on.isoformat(), "checks_asked": len(trees)}
        events.record(author, "storm.recorded", "storm", storm.uid, data=data)
    return storm, True


def _same(stored: M, sha256: str, noun: str) -> M:
    if stored.content_sha256 != sha256:
        raise Conflict(f"{noun} {stored.uid} is recorded already with other content")
    return stored


def _zones(record: StormRecord) -> dict[str, Zone]:
    codes = {code for code, _ in record.gusts} | set(record.ask_checks.zones if record.ask_checks else ())
    return {zone.code: zone for zone in Zone.objects.filter(code__in=codes).defer("area")}


def _unknown(record: StormRecord, zones: dict[str, Zone]) -> list[FieldProblem]:
    """Codes that no zone has."""
    asked = record.ask_checks.zones if record.ask_checks else ()
    named = [(f"#/gusts/{place}/zone", code) for place, (code, _) in enumerate(record.gusts)]
    named += [(f"#/ask_checks/zones/{place}", code) for place, code in enumerate(asked)]
    return [FieldProblem(pointer, "there is no such zone") for pointer, code in named if code not in zones]


def _trees_to_check(record: StormRecord, zones: dict[str, Zone]) -> list[int]:
    """The standing trees at risk in the struck zones that nobody rated since, nor an open check asks for as soon."""
    asked = record.ask_checks
    if asked is None:
        return []
    least = risk.code(risk.RISK, asked.least_risk)
    open_already = RequiredCheck.objects.filter(
        tree=OuterRef("pk"), kind="storm", closed_on=None, due_on__lte=asked.due_on, asked_on__gte=record.began_on
    )
    rated_since = Inspection.objects.filter(
        tree=OuterRef("pk"), inspected_on__gt=record.ended_on, frame_years__isnull=False
    )
    standing = Tree.objects.filter(state__in=STANDING, priority__risk__gte=least)
    trees: QuerySet[Tree] = standing.filter(~Exists(open_already), ~Exists(rated_since))
    codes = asked.zones or tuple(code for code, _ in record.gusts)
    if codes:
        trees = trees.filter(zone__in=[zones[code].pk for code in codes])
    return list(trees.order_by("pk").values_list("pk", flat=True))


def _store_storm(author: Author, record: StormRecord, zones: dict[str, Zone], checks: int) -> Storm:
    names = ("uid", "name", "began_on", "ended_on", "gust_m_s", "gust_source", "note")
    try:
        storm = Storm.objects.create(
            **{name: getattr(record, name) for name in names},
            content_sha256=fingerprint(_CITY, record),
            checks_asked=checks,
            recorded_by_id=author.user_id,
        )
    except IntegrityError as error:
        if "storm_uid_key" in str(error):
            raise Conflict(f"storm {record.uid} is being recorded: send it again") from error
        raise
    StormGust.objects.bulk_create(
        StormGust(storm=storm, zone=zones[code], gust_m_s=gust) for code, gust in record.gusts
    )
    return storm


def _ask_checks(author: Author, storm: Storm, record: StormRecord, trees: list[int], today: date) -> None:
    if record.ask_checks is None:
        return
    rows = (
        RequiredCheck(
            uid=uuid.uuid5(storm.uid, f"check/{tree}"),
            tree_id=tree,
            kind="storm",
            due_on=record.ask_checks.due_on,
            why=f"after the storm {storm.name} of {storm.began_on}",
            source="storm",
            asked_by_id=author.user_id,
            asked_on=today,
        )
        for tree in trees
    )
    RequiredCheck.objects.bulk_create(rows, batch_size=_BATCH)
    if len(trees) <= AT_ONCE:
        restate(trees)
    else:
        mark_trees(trees)


def record_failure(author: Author, tree: Tree, record: FailureRecord, today: date) -> tuple[Failure, bool]:
    """Store a failure of a tree; return it and whether it is new. It may arrive late.

    The same uid and content give the stored one for ever. Raises Invalid for a record that breaks a rule, Conflict
    for a uid with other content or a tree that was removed before.
    """
    with author.acting("failure recorded"):
        tree = Tree.objects.select_for_update(no_key=True).get(pk=tree.pk)
        stored = Failure.objects.filter(uid=record.uid).first()
        if stored is not None:
            return _same(stored, fingerprint(tree.uid, record), "failure"), False
        storm, finding, inspection = _named(record, tree)
        if wrong := list(failure_problems(record, tree, storm, today)):
            raise Invalid.fields(wrong)
        if tree.removed_on and record.happened_from > tree.removed_on:
            raise Conflict(f"the tree was removed on {tree.removed_on}, before it is said to have failed")
        names = ("uid", "part", "happened_from", "happened_to", "struck", "damage", "seen_by", "note")
        made = Failure.objects.create(
            **{name: getattr(record, name) for name in names},
            content_sha256=fingerprint(tree.uid, record),
            tree=tree,
            storm=storm,
            finding=finding,
            inspection=inspection,
            recorded_by_id=author.user_id,
        )
        data = {"part": made.part, "on": made.happened_from.isoformat(), "storm": storm and str(storm.uid)}
        events.record(author, "failure.recorded", "failure", made.uid, tree_id=tree.pk, data=data)
    return made, True


def _named(record: FailureRecord, tree: Tree) -> tuple[Storm | None, Finding | None, Inspection | None]:
    """The storm, finding and look that a failure names. Raises Invalid where they are not there, or another tree's."""
    storm = Storm.objects.filter(uid=record.storm).first() if record.storm else None
    finding = Finding.objects.filter(uid=record.finding, inspection__tree=tree).first() if record.finding else None
    look = Inspection.objects.filter(uid=record.inspection, tree=tree).first() if record.inspection else None
    words = {"storm": "there is no such storm", "finding": "there is no such finding of this tree"}
    words["inspection"] = "there is no such inspection of this tree"
    found = {"storm": storm, "finding": finding, "inspection": look}
    wrong = [FieldProblem(f"#/{name}", words[name]) for name in words if getattr(record, name) and found[name] is None]
    if wrong:
        raise Invalid.fields(wrong)
    return storm, finding, look
