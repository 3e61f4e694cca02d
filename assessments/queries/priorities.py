"""Priority as it is shown: the words, the numbers with unit and version, and the reasons made on read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from assessments import inputs
from assessments.methods import due, harm, priority, risk
from assessments.models import Mark, Priority, PriorityChange
from assessments.queries import policies
from inventory.models import Tree
from inventory.problems import Missing

# What the number `harm` is, wherever it is shown.
HARM_UNIT = "expected deaths a year, property converted, central map"
HARM_METHOD = f"{harm.METHOD}/{harm.VERSION}"
METHOD = f"{priority.METHOD}/{priority.VERSION}"


@dataclass(frozen=True)
class PriorityShown:
    """The priority of a tree: which rule won, the dates of the others, and why, in sentences."""

    row: Priority
    risk: str
    rule: str
    by_rule: dict[str, date | None]
    reasons: tuple[str, ...]
    recompute_asked: bool
    changes: tuple[PriorityChange, ...]


def priority_of(tree: Tree, today: date) -> PriorityShown:
    """The priority of a standing tree. Raises Missing for one that does not stand, or is not computed yet."""
    row = Priority.objects.filter(tree=tree).first()
    if row is None:
        raise Missing("this tree has no priority: it does not stand, or it was added just now")
    marks = Mark.objects.filter(scope="all") | Mark.objects.filter(scope="tree", subject=tree.pk)
    if tree.zone_id:
        marks |= Mark.objects.filter(scope="zone", subject=tree.zone_id)
    return PriorityShown(
        row=row,
        risk=risk.word(risk.RISK, row.risk),
        rule=priority.RULES[row.rule],
        by_rule={name: getattr(row, f"by_{name}") for name in priority.RULES[1:]},
        reasons=reasons([as_mapping(row)], today).get(tree.pk, ()),
        recompute_asked=marks.exists(),
        changes=tuple(PriorityChange.objects.filter(tree=tree).order_by("-pk")[:20]),
    )


def as_mapping(row: Priority) -> dict[str, Any]:
    """The columns of a row by name."""
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def reasons(rows: Sequence[Mapping[str, Any]], today: date) -> dict[int, tuple[str, ...]]:
    """The sentences of some rows of priority, by tree id; two statements for any number of rows."""
    trees = {int(tree["tree_id"]): tree for tree in inputs.trees([row["tree_id"] for row in rows])} if rows else {}
    known = policies.read(row["policy_version"] for row in rows) if rows else {}
    return {
        row["tree_id"]: tuple(due.reasons(row, trees[row["tree_id"]], known[row["policy_version"]], today))
        for row in rows
        if row["tree_id"] in trees
    }


def risk_by_tree(tree_ids: Sequence[int]) -> dict[int, str]:
    """The risk class of some trees, '' where never rated; trees without a priority are left out."""
    rows = Priority.objects.filter(tree__in=tree_ids).values_list("tree_id", "risk")
    return {tree_id: risk.word(risk.RISK, code) for tree_id, code in rows}
