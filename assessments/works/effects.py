"""What reported work changes in the inventory, in the same transaction; each item changes it once."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Final

from assessments.models import RequiredCheck
from assessments.restate import restate
from assessments.services.checks import settle_checks
from assessments.works import states
from assessments.works.models import ItemReport, OrderItem
from inventory import events, services
from inventory.calendar import municipal_date
from inventory.history import Author
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Refusal

NOTHING: Final = "nothing to change"
Effect = Callable[[Author, Tree, ItemReport, date], str]


def apply(author: Author, item: OrderItem, report: ItemReport) -> str:
    """Let the inventory take over what was reported done; return why it could not, empty where it did.

    Inside the caller's act, on a locked item. What the item has changed before is not changed again, but for a stump
    that is ground out with the second report.
    """
    on = municipal_date(report.worked_at)
    tree = Tree.objects.select_for_update(no_key=True).get(pk=item.tree_id)
    try:
        if item.effect:
            item.effect = _complete(author, item, tree, report)
        else:
            item.effect = _EFFECTS.get(item.action, _nothing)(author, tree, report, on)
            _ask_checks(author, item, on)
    except Refusal as refusal:
        return refusal.detail
    here = Tree.objects.filter(site_id=tree.site_id, state__in=STANDING) if tree.site_id else ()
    restate([tree.pk, *(other.pk for other in here)])
    return ""


def restore(author: Author, item: OrderItem, why: str) -> None:
    """Have a tree stand again that this item reported felled. Raises Conflict where something else is recorded."""
    if not item.effect.startswith("tree removed"):
        raise Conflict("this item did not remove the tree from the inventory")
    services.restore_tree(author, Tree.objects.get(pk=item.tree_id), why=why)
    item.effect = ""
    restate([item.tree_id])


def _complete(author: Author, item: OrderItem, tree: Tree, report: ItemReport) -> str:
    if item.action == "remove" and report.stump_ground and tree.state == "stump":
        services.grind_stump(author, tree)
        return "tree removed, stump ground out"
    return item.effect


def _remove(author: Author, tree: Tree, report: ItemReport, on: date) -> str:
    if tree.planted_from and on < tree.planted_from:
        raise Conflict(f"felled on {on}, before it was planted on {tree.planted_from}")
    reason = f"work order {report.item.order.number}"
    services.remove_tree(author, tree, on=on, reason=reason, stump_ground=report.stump_ground)
    return "tree removed, stump ground out" if report.stump_ground else "tree removed, stump left"


def _grind_stump(author: Author, tree: Tree, report: ItemReport, on: date) -> str:
    services.grind_stump(author, tree)
    return "stump ground out"


def _install_support(author: Author, tree: Tree, report: ItemReport, on: date) -> str:
    if report.support_kind is None or report.support_height_m is None:
        raise ValueError("a support is reported with its kind and height")
    services.install_support(
        author, tree, kind=report.support_kind, height_m=report.support_height_m, on=on, note=report.note
    )
    return f"{report.support_kind} recorded"


def _plant(author: Author, tree: Tree, report: ItemReport, on: date) -> str:
    if tree.site is None:
        return "no site is recorded here: add the planted tree by hand"
    fields = {"species_id": report.species_id, "planted_from": on, "planted_to": on}
    services.add_tree(author, location=tree.site.location, site=tree.site, tree_fields=fields)
    return "planted tree recorded"


def _nothing(author: Author, tree: Tree, report: ItemReport, on: date) -> str:
    return NOTHING


_EFFECTS: Final[dict[str, Effect]] = {
    "remove": _remove,
    "grind_stump": _grind_stump,
    "install_support": _install_support,
    "plant": _plant,
}


def _ask_checks(author: Author, item: OrderItem, on: date) -> None:
    said = f"{states.ACTIONS[item.action]}, done on {on} by order {item.order.number}: see what risk remains"
    for kind, days in states.checks_after(item.action, item.finding_id is not None):
        ask_check(author, item, kind, on, days, said)


def ask_check(author: Author, item: OrderItem, kind: str, on: date, days: int, why: str) -> None:
    """Ask for a tree that still stands to be seen so many days after a day; what was seen since then counts.

    Inside the caller's act, which restates the tree.
    """
    tree = Tree.objects.get(pk=item.tree_id)
    if tree.state not in STANDING:
        return
    check = RequiredCheck.objects.create(
        uid=uuid.uuid4(),
        tree=tree,
        kind=kind,
        due_on=on + timedelta(days=days),
        why=why,
        source="order",
        asked_by_id=author.user_id,
        asked_on=on,
    )
    data = {"kind": kind, "order": item.order.number}
    events.record(author, "check.asked", "check", check.uid, tree_id=tree.pk, data=data)
    settle_checks([tree.pk])
