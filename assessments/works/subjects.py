"""What a photo shows, where that is here already: which tree it hangs on."""

import uuid
from typing import Final

from django.db.models import QuerySet

from assessments.models import Dissection, DissectionCut, Finding, Inspection, Section
from assessments.works.models import OrderItem
from inventory.models import Tree
from inventory.problems import Invalid

# How each kind of thing leads to its tree. A cut of a dissection is one of its parts.
_TREES: Final[dict[str, tuple[tuple[type, str], ...]]] = {
    "tree": ((Tree, "id"),),
    "inspection": ((Inspection, "tree_id"),),
    "finding": ((Finding, "inspection__tree_id"),),
    "section": ((Section, "inspection__tree_id"),),
    "dissection": ((Dissection, "tree_id"), (DissectionCut, "dissection__tree_id")),
    "order_item": ((OrderItem, "tree_id"),),
}


def require_of_tree(about: str, uid: uuid.UUID, tree: Tree) -> None:
    """Refuse what is known to hang on another tree; what is not here yet may come later. Raises Invalid."""
    for model, path in _TREES[about]:
        rows: QuerySet[Tree, int] = model.objects.filter(uid=uid).values_list(path, flat=True)  # type: ignore[attr-defined]
        found = rows.first()
        if found is not None and found != tree.pk:
            raise Invalid.field("#/about_uid", f"this {about.replace('_', ' ')} is of another tree")
    if about == "tree" and uid != tree.uid:
        raise Invalid.field("#/about_uid", "is not the tree that the photo is added to")
