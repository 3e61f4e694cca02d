"""Decisions in: one chain a tree, the newest in force; each writes the checks that it commits to and no work item."""

import uuid
from datetime import date

from django.db import IntegrityError

from assessments import options
from assessments.models import Decision, Option, RequiredCheck
from assessments.option_records import DecisionRecord
from assessments.records import AskedCheck, fingerprint
from assessments.restate import restate
from assessments.services.checks import settle_checks
from inventory import events
from inventory.history import Author
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Invalid


def take_decision(author: Author, option: Option, record: DecisionRecord, today: date) -> tuple[Decision, bool]:
    """Record a decision for an option; return it and whether it is new.

    The same uid and content give the stored one for ever. It supersedes the decision that was in force for the tree,
    whose open checks are withdrawn. Raises Invalid for a record that breaks a rule; Conflict for a uid with other
    content, a dropped option, a tree that was gone by then, or a decision older than the one in force.
    """
    with author.acting(f"decision: {record.why}"[:500] if record.why.strip() else "decision"):
        tree = Tree.objects.select_for_update(no_key=True).get(pk=option.inspection.tree_id)
        stored = Decision.objects.filter(uid=record.uid).first()
        if stored is not None:
            return _same(stored, option, record), False
        locked = options.with_estimates(Option.objects.select_for_update(of=("self",))).get(pk=option.pk)
        checks = options.checks_of(locked, record)
        if wrong := options.decision_problems(locked, record, checks, today):
            raise Invalid.fields(wrong)
        before = Decision.objects.filter(tree=tree, superseded_by=None).first()
        _fits(tree, locked, record, before)
        decision = _store(author, tree, locked, record, before)
        _withdraw_checks(before, record, today)
        if tree.state in STANDING:
            _ask_checks(author, decision, checks)
        _tell(author, decision, before)
        settle_checks([tree.pk])
        restate([tree.pk])
    return decision, True


def _same(stored: Decision, option: Option, record: DecisionRecord) -> Decision:
    if stored.content_sha256 != fingerprint(option.uid, record):
        raise Conflict(f"decision {record.uid} is recorded already with other content")
    return stored


def _fits(tree: Tree, option: Option, record: DecisionRecord, before: Decision | None) -> None:
    """Refuse what contradicts the facts there are. Raises Conflict."""
    if option.dropped_why:
        raise Conflict(f"the option was dropped: {option.dropped_why}")
    if tree.removed_on and record.decided_on > tree.removed_on:
        raise Conflict(f"the tree was removed on {tree.removed_on}, before this decision")
    if before and record.decided_on < before.decided_on:
        raise Conflict(f"a decision of {before.decided_on} is in force, later than this one")


def _store(author: Author, tree: Tree, option: Option, record: DecisionRecord, before: Decision | None) -> Decision:
    said = {
        name: getattr(record, name)
        for name in (
            *("uid", "decided_on", "decided_by", "office", "why", "conditions", "accepted_risk", "ends_on", "act_by"),
        )
    }
    return Decision.objects.create(
        **said,
        content_sha256=fingerprint(option.uid, record),
        tree=tree,
        inspection_id=option.inspection_id,
        option=option,
        supersedes=before,
        chosen=options.snapshot(option),
        recorded_by_id=author.user_id,
    )


def _withdraw_checks(before: Decision | None, record: DecisionRecord, today: date) -> None:
    """What only the earlier decision asked for need not be made."""
    if before is None:
        return
    asked = RequiredCheck.objects.select_for_update().filter(decision=before, closed_on=None)
    why = f"superseded by the decision of {record.decided_on.isoformat()}"
    asked.update(closed_on=today, withdrawn_why=why)


def _ask_checks(author: Author, decision: Decision, checks: tuple[AskedCheck, ...]) -> None:
    """The checks it commits to, and the day on which it ends."""
    asked = [*checks]
    if decision.ends_on:
        asked.append(AskedCheck("decision_end", decision.ends_on, options.end_reason(decision)))
    rows = [
        RequiredCheck(
            uid=one.uid or uuid.uuid5(decision.uid, f"check/{place}"),
            tree_id=decision.tree_id,
            decision=decision,
            kind=one.kind,
            due_on=one.due_on,
            why=one.why,
            source="decision",
            asked_by_id=author.user_id,
            asked_on=decision.decided_on,
        )
        for place, one in enumerate(asked)
    ]
    try:
        RequiredCheck.objects.bulk_create(rows)
    except IntegrityError as error:
        if "required_check_uid_key" in str(error):
            raise Conflict("a required check with one of these uids is recorded already") from error
        raise


def _tell(author: Author, decision: Decision, before: Decision | None) -> None:
    data = {
        "option": decision.option.key,
        "kind": decision.option.kind,
        "on": decision.decided_on.isoformat(),
        "ends_on": decision.ends_on.isoformat() if decision.ends_on else None,
        "superseded": str(before.uid) if before else None,
    }
    events.record(author, "decision.taken", "decision", decision.uid, tree_id=decision.tree_id, data=data)
