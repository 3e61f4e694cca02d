"""How much of a tree someone sees: the municipality all, a contractor its own orders' trees, the public little."""

from collections.abc import Iterable, Sequence
from typing import Any

from api.rest import shapes
from assessments.works import queries as works
from inventory.models import Tree
from inventory.people.models import User
from inventory.problems import NotAllowed


def full_view(person: User | None, trees: Iterable[Tree]) -> frozenset[int]:
    """The keys of those of the trees that this person sees in full; one query at most."""
    keys = frozenset(tree.pk for tree in trees)
    if person is None:
        return frozenset()
    if person.may("inventory.view"):
        return keys
    if not person.contractor_ids:
        return frozenset()
    return frozenset(works.tree_ids_of_contractor(person).filter(tree_id__in=keys))


def shown(person: User | None, trees: Sequence[Tree], units: str) -> list[dict[str, Any]]:
    """The trees as this person sees them."""
    full = full_view(person, trees)
    wide = shapes.Tree(context={"units": units, "full": True})
    narrow = shapes.Tree(context={"units": units, "full": False})
    return [(wide if tree.pk in full else narrow).to_representation(tree) for tree in trees]


def require_full(person: User | None, tree: Tree) -> None:
    """Raise NotAllowed where this person sees only what the public sees of the tree."""
    if not full_view(person, [tree]):
        raise NotAllowed("your role does not include inventory.view, and no order of yours has this tree")
