"""Reads of the inventory, scoped by who asks."""

import uuid

from django.core.cache import cache
from django.db.models import QuerySet

from inventory.models import Municipality, Tree
from inventory.problems import Missing

_MUNICIPALITY = "municipality"


def municipality() -> Municipality:
    """The one municipality, from the cache. Raises Missing before `manage.py found`."""
    found: Municipality | None = cache.get(_MUNICIPALITY)
    if found is None:
        found = Municipality.objects.first()
        if found is None:
            raise Missing("there is no municipality yet: run `manage.py found`")
        cache.set(_MUNICIPALITY, found, 60)
    return found


def forget_municipality() -> None:
    """Drop the cached municipality after it was changed."""
    cache.delete(_MUNICIPALITY)


def trees() -> QuerySet[Tree]:
    """Every tree, with what a list shows of it. Who asks decides how much of each is shown, not which."""
    return Tree.objects.select_related("species", "site", "zone")


def tree(uid: uuid.UUID) -> Tree:
    """One tree by its uid. Raises Missing."""
    found = Tree.objects.select_related("species", "site", "zone").filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no tree {uid}")
    return found
