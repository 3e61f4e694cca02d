"""Required checks: asked for by a person, an order, a storm; closed by an inspection or withdrawn with a reason."""

import uuid
from collections.abc import Sequence
from datetime import date
from itertools import groupby

from assessments import rules
from assessments.models import Inspection, RequiredCheck
from assessments.restate import restate
from inventory import calendar, events
from inventory.history import Author
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Invalid, Missing


def ask_check(
    author: Author,
    tree: Tree,
    *,
    kind: str,
    due_on: date,
    why: str,
    source: str = "assessor",
    uid: uuid.UUID | None = None,
) -> RequiredCheck:
    """Ask for a tree to be seen by a day. The same uid for the same check gives the stored one.

    Raises Invalid, or Conflict for a tree that no longer stands or a uid that says something else.
    """
    wrong = list(rules.check_problems("#", kind, why))
    if wrong:
        raise Invalid.fields(wrong)
    said = {"tree_id": tree.pk, "kind": kind, "due_on": due_on, "why": why, "source": source}
    with author.acting(f"check asked: {why}"):
        state = Tree.objects.select_for_update(no_key=True).values_list("state", flat=True).get(pk=tree.pk)
        stored = RequiredCheck.objects.filter(uid=uid).first() if uid else None
        if stored is not None:
            return _same(stored, said)
        if state not in STANDING:
            raise Conflict(f"the tree is {state}: there is nothing to check")
        asked = {"asked_by_id": author.user_id, "asked_on": calendar.today(), "uid": uid or uuid.uuid4()}
        check = RequiredCheck.objects.create(**said, **asked)
        events.record(author, "check.asked", "check", check.uid, tree_id=tree.pk, data={"kind": kind})
        restate([tree.pk])
    return check


def _same(stored: RequiredCheck, said: dict[str, object]) -> RequiredCheck:
    differs = [name for name, value in said.items() if getattr(stored, name) != value]
    if differs:
        raise Conflict(f"check {stored.uid} is recorded already with another {differs[0].removesuffix('_id')}")
    return stored


def withdraw_check(author: Author, uid: uuid.UUID, why: str) -> RequiredCheck:
    """Close an open check without an inspection. Raises Missing, Invalid without a reason, Conflict if closed."""
    if not why.strip():
        raise Invalid.field("#/why", "say why it need not be made")
    with author.acting(f"check withdrawn: {why}"):
        check = RequiredCheck.objects.select_for_update().filter(uid=uid).first()
        if check is None:
            raise Missing(f"there is no check {uid}")
        if check.closed_on:
            raise Conflict(f"the check was closed on {check.closed_on.isoformat()}")
        if check.kind == "decision_end":
            raise Conflict("a decision ends on that day: only the next decision settles it")
        check.closed_on, check.withdrawn_why = calendar.today(), why
        check.save(update_fields=["closed_on", "withdrawn_why"])
        events.record(author, "check.withdrawn", "check", check.uid, tree_id=check.tree_id, data={"why": why})
        restate([check.tree_id])
    return check


def settle_checks(tree_ids: Sequence[int]) -> int:
    """Close each open check of the trees by the first inspection that satisfies it; return how many.

    Looks at all inspections since it was asked, so that the order in which they arrive does not matter. Inside the
    caller's act.
    """
    unsettled = RequiredCheck.objects.filter(tree__in=tree_ids, closed_on=None).select_related("inspection")
    open_checks = list(unsettled.select_for_update(of=("self",)).order_by("tree_id", "pk"))
    if not open_checks:
        return 0
    trees = {check.tree_id for check in open_checks}
    seen = Inspection.objects.filter(tree__in=trees, inspected_on__gte=min(c.asked_on for c in open_checks))
    in_order = seen.order_by("tree_id", "inspected_at", "uid")
    by_tree = {tree: list(rows) for tree, rows in groupby(in_order, key=lambda one: one.tree_id)}
    closed = []
    for check in open_checks:
        first = next((one for one in by_tree.get(check.tree_id, []) if rules.satisfies(one, check)), None)
        if first is not None:
            check.closed_by, check.closed_on = first, first.inspected_on
            closed.append(check)
    RequiredCheck.objects.bulk_update(closed, ["closed_by", "closed_on"])
    return len(closed)
