"""Marks: ask for a recompute that a worker makes."""

from collections.abc import Iterable

from assessments.models import Mark


def mark(scope: str, subject: int | None = None) -> None:
    """Ask for a recompute of a tree, a zone (by id) or, with scope `all`, of everything."""
    Mark.objects.create(scope=scope, subject=subject)


def mark_trees(tree_ids: Iterable[int]) -> None:
    """Ask for a recompute of many trees."""
    Mark.objects.bulk_create(Mark(scope="tree", subject=tree_id) for tree_id in tree_ids)
