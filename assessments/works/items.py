"""Makes order items from wishes, for all trees of an order in a few queries."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import F, OuterRef, Q, Subquery

from assessments.methods import catalogue, risk
from assessments.models import Finding, Inspection, Priority
from assessments.works import rules
from assessments.works.cautions import Seen, cautions
from assessments.works.models import OrderItem, WorkOrder
from assessments.works.records import ItemWish
from inventory.models import Tree
from inventory.problems import FieldProblem, Invalid

# A look from all sides replaces what earlier ones saw.
_WHOLE_TREE = ("basic", "advanced")


def make_items(order: WorkOrder, wishes: Sequence[ItemWish], today: date, at: str = "#/items") -> list[OrderItem]:
    """Write the items of an order inside the caller's act. Raises Invalid with a pointer for each wrong wish."""
    if not wishes:
        raise Invalid.field(at, "name at least one tree")
    if len(wishes) + order.items.count() > rules.MAX_ITEMS:
        raise Invalid.field(at, f"an order holds at most {rules.MAX_ITEMS} items")
    trees = _trees(wishes)
    named = {
        f.uid: f
        for f in Finding.objects.filter(uid__in=[w.finding for w in wishes if w.finding]).select_related("inspection")
    }
    problems = _problems(order, wishes, trees, named, today, at)
    if problems:
        raise Invalid.fields(problems)
    ids = [tree.pk for tree in trees.values()]
    seen, priorities = open_findings(ids), Priority.objects.in_bulk(ids)
    items = []
    for wish in wishes:
        tree, finding = trees[wish.tree], named.get(wish.finding) if wish.finding else None
        lines = tree.site.overhead_lines if tree.site else None
        items.append(
            OrderItem(
                uid=uuid.uuid4(),
                order=order,
                tree=tree,
                finding=finding,
                action=wish.action,
                reason=wish.reason.strip() or reason(priorities.get(tree.pk), finding),
                due_on=wish.due_on or order.due_on,
                cautions=cautions(seen[tree.pk], tree.state, lines, wish.action),
            )
        )
    return OrderItem.objects.bulk_create(items)


def _trees(wishes: Sequence[ItemWish]) -> dict[uuid.UUID, Tree]:
    # Locked in one order against a removal meanwhile, so that two orders cannot wait for each other.
    wanted = Tree.objects.select_for_update(of=("self",), no_key=True).filter(uid__in={wish.tree for wish in wishes})
    return {tree.uid: tree for tree in wanted.select_related("site").order_by("pk")}


def _problems(
    order: WorkOrder,
    wishes: Sequence[ItemWish],
    trees: Mapping[uuid.UUID, Tree],
    findings: Mapping[uuid.UUID, Finding],
    today: date,
    at: str,
) -> list[FieldProblem]:
    found: list[FieldProblem] = []
    taken = set(order.items.values_list("tree__uid", "action"))
    for place, wish in enumerate(wishes):
        pointer, tree = f"{at}/{place}", trees.get(wish.tree)
        if tree is None:
            found.append(FieldProblem(f"{pointer}/tree", f"there is no tree {wish.tree}"))
            continue
        due_on = wish.due_on or order.due_on
        found += rules.wish_problems(pointer, wish.action, tree.state, due_on, today)
        if (wish.tree, wish.action) in taken:
            found.append(FieldProblem(pointer, f"{wish.action} of this tree is in the order already"))
        taken.add((wish.tree, wish.action))
        if wish.finding and (wish.finding not in findings or findings[wish.finding].inspection.tree_id != tree.pk):
            found.append(FieldProblem(f"{pointer}/finding", "is not a finding of this tree"))
    return found


def open_findings(tree_ids: Iterable[int]) -> defaultdict[int, list[Seen]]:
    """What is known of each tree: the findings since its newest look from all sides, that one included."""
    newest = Inspection.objects.filter(tree=OuterRef("inspection__tree"), level__in=_WHOLE_TREE)
    rows = (
        Finding.objects.filter(inspection__tree_id__in=list(tree_ids))
        .annotate(since=Subquery(newest.order_by("-inspected_at").values("inspected_at")[:1]))
        .filter(Q(since=None) | Q(inspection__inspected_at__gte=F("since")))
        .order_by("id")
        .values_list("inspection__tree_id", "kind", "part", "measures")
    )
    found: defaultdict[int, list[Seen]] = defaultdict(list)
    for tree_id, kind, part, measures in rows:
        found[tree_id].append(Seen(kind, part, measures))
    return found


def reason(priority: Priority | None, finding: Finding | None) -> str:
    """Why the work is wanted, in words, from the tree's priority and the finding it answers to."""
    risk_word = risk.word(risk.RISK, priority.risk) if priority else ""
    told = [f"Risk {risk_word}" if risk_word else "Risk not rated yet"]
    if finding:
        kind, part = catalogue.KINDS[finding.kind].label, catalogue.PARTS[finding.part].label
        told.append(f"{kind.lower()} at the {part.lower()}")
    if priority and priority.act_by:
        told.append(f"act by {priority.act_by}")
    return "; ".join(told) + "."
