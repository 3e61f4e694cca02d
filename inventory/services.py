"""Writes of the inventory: every change of what stands where goes through here, attributed."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from django.conf import settings
from django.contrib.gis.geos import Point
from django.db import IntegrityError, connection

from inventory import events, rules
from inventory.geo import fit
from inventory.history import Author
from inventory.models import Measurement, Site, Support, Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, Invalid, Stale
from inventory.statements import statement

FARTHEST_FROM_SITE_M: Final = 50.0
"""A site is a point of a street or a bed; a tree farther off stands elsewhere (the project's choice)."""
EDITABLE = ("tag", "species_id", "species_text", "planted_from", "planted_to", "state", "note")


@dataclass(frozen=True)
class Size:
    """A measurement to be recorded. Lengths in the unit of the name; a class is an interval (low, high)."""

    measured_on: date
    method: str
    uid: uuid.UUID = field(default_factory=uuid.uuid4)
    stems_cm: tuple[float, ...] = ()
    dbh_cm: float | None = None
    dbh_low_cm: float | None = None
    dbh_high_cm: float | None = None
    dbh_height_m: float = 1.37
    height_m: float | None = None
    crown_m: float | None = None
    crown_base_m: float | None = None
    note: str = ""


def add_tree(
    author: Author,
    *,
    location: Point,
    site: Site | None = None,
    site_fields: Mapping[str, Any] | None = None,
    tree_fields: Mapping[str, Any] | None = None,
    size: Size | None = None,
    uid: uuid.UUID | None = None,
) -> Tree:
    """Record a standing tree: on a site given, or on a new one at its location. Raises Invalid or Conflict."""
    with author.acting("tree added"):
        _require_place(location, site)
        if site is None:
            site = Site.objects.create(location=location, state="planted", **(site_fields or {}))
        else:
            _occupy(site)
        tree = Tree(location=location, site=site, **(tree_fields or {}))
        if uid:
            tree.uid = uid
        _save_new(tree)
        place([tree.pk])
        if size:
            measure(author, tree, size)
        events.record(author, "tree.added", "tree", tree.uid, tree_id=tree.pk)
    tree.refresh_from_db()
    return tree


def _require_place(location: Point, site: Site | None) -> None:
    """A tree stands where the metric system is valid, and at its site. Raises Invalid."""
    if not fit.valid_at(location.x, location.y):
        off = f"lies where EPSG:{settings.METRIC_SRID} is not valid: positions are [longitude, latitude]"
        raise Invalid.field("#/location", off)
    if site is not None:
        apart_m = location.transform(settings.METRIC_SRID, clone=True).distance(site.location_m)
        if apart_m > FARTHEST_FROM_SITE_M:
            raise Invalid.field("#/location", f"lies {apart_m:,.0f} m from its site")


def _occupy(site: Site) -> None:
    locked = Site.objects.select_for_update().get(pk=site.pk)
    if locked.state != "vacant":
        raise Conflict(f"the site is {locked.state}, not vacant")
    locked.state = "planted"
    locked.save(update_fields=["state"])


def _save_new(tree: Tree) -> None:
    try:
        tree.save(force_insert=True)
    except IntegrityError as error:
        for name in ("tag", "external_key", "uid"):
            if f"tree_{name}" in str(error):
                raise Conflict(f"another tree has this {name}") from error
        raise


def place(tree_ids: Sequence[int]) -> None:
    """Assign the zone of each tree by its location."""
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "assign_zones"), {"trees": list(tree_ids)})


def edit_tree(author: Author, tree: Tree, changes: Mapping[str, Any], *, version: int, why: str) -> Tree:
    """Change what a desk may change of a tree. Raises Stale where it was changed since, Invalid for other fields."""
    unknown = sorted(set(changes) - set(EDITABLE))
    if unknown:
        raise Invalid.field(f"#/{unknown[0]}", "cannot be changed here")
    if changes.get("state") not in (None, "alive", "dead"):
        raise Invalid.field("#/state", "a tree is removed by a work order or by `remove`, not by editing")
    with author.acting(why):
        locked = Tree.objects.select_for_update().get(pk=tree.pk)
        if locked.version != version:
            raise Stale(f"you read version {version}; it is now version {locked.version}")
        for name, value in changes.items():
            setattr(locked, name, value)
        locked.save(update_fields=list(changes))
        events.record(author, "tree.edited", "tree", tree.uid, tree_id=tree.pk, data={"fields": sorted(changes)})
    locked.refresh_from_db()
    return locked


def measure(author: Author, tree: Tree, size: Size) -> Measurement:
    """Record a measurement; the tree's size follows the newest one. Raises Invalid."""
    dbh_cm = rules.quadratic_diameter_cm(size.stems_cm) if size.stems_cm else size.dbh_cm
    with author.acting("tree measured"):
        measurement = Measurement.objects.create(
            uid=size.uid,
            tree=tree,
            measured_on=size.measured_on,
            measured_by_id=author.user_id,
            method=size.method,
            stems_cm=list(size.stems_cm) or None,
            dbh_cm=dbh_cm,
            dbh_low_cm=size.dbh_low_cm,
            dbh_high_cm=size.dbh_high_cm,
            dbh_height_m=size.dbh_height_m,
            height_m=size.height_m,
            crown_m=size.crown_m,
            crown_base_m=size.crown_base_m,
            note=size.note,
        )
        restate_sizes([tree.pk])
        events.record(author, "tree.measured", "measurement", measurement.uid, tree_id=tree.pk)
    return measurement


def restate_sizes(tree_ids: Sequence[int]) -> None:
    """Bring the size columns of the trees in line with their newest measurements."""
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "restate_sizes"), {"trees": list(tree_ids)})


def remove_tree(author: Author, tree: Tree, *, on: date, reason: str, stump_ground: bool) -> Tree:
    """Record that a tree was felled: its stump stays until ground out, its site becomes vacant. Raises Conflict."""
    with author.acting(f"tree removed: {reason}"):
        locked = Tree.objects.select_for_update().get(pk=tree.pk)
        if locked.state not in ("alive", "dead"):
            raise Conflict(f"the tree is {locked.state} already")
        locked.state = "removed" if stump_ground else "stump"
        locked.removed_on = on
        locked.removal_reason = reason
        locked.save(update_fields=["state", "removed_on", "removal_reason"])
        if locked.site_id:
            Site.objects.filter(pk=locked.site_id).update(state="vacant")
        events.record(author, "tree.removed", "tree", tree.uid, tree_id=tree.pk, data={"on": on.isoformat()})
    locked.refresh_from_db()
    return locked


def restore_tree(author: Author, tree: Tree, *, why: str) -> Tree:
    """Record that a tree said to be felled still stands, as it stood before. Raises Conflict.

    A standing tree that the inventory counts as gone would be inspected by nobody.
    """
    with author.acting(f"tree still stands: {why}"):
        locked = Tree.objects.select_for_update().get(pk=tree.pk)
        if locked.state not in ("stump", "removed"):
            raise Conflict(f"the tree is {locked.state}")
        if locked.site_id:
            site = Site.objects.select_for_update().get(pk=locked.site_id)
            if site.state == "planted":
                raise Conflict("another tree is recorded on its site since")
            Site.objects.filter(pk=site.pk).update(state="planted")
        locked.state = _stood_as(locked)
        locked.removed_on, locked.removal_reason = None, ""
        locked.save(update_fields=["state", "removed_on", "removal_reason"])
        events.record(author, "tree.restored", "tree", tree.uid, tree_id=tree.pk)
    locked.refresh_from_db()
    return locked


def _stood_as(tree: Tree) -> str:
    """The state in which the tree stood last, from its history."""
    past = tree.past.filter(state__in=STANDING).order_by("-pgh_id").values_list("state", flat=True)  # type: ignore[attr-defined]
    return str(past[0])


def grind_stump(author: Author, tree: Tree) -> Tree:
    """Record that a stump was ground out. Raises Conflict where there is none."""
    with author.acting("stump ground out"):
        locked = Tree.objects.select_for_update().get(pk=tree.pk)
        if locked.state != "stump":
            raise Conflict(f"there is no stump: the tree is {locked.state}")
        locked.state = "removed"
        locked.save(update_fields=["state"])
        events.record(author, "stump.ground", "tree", tree.uid, tree_id=tree.pk)
    locked.refresh_from_db()
    return locked


def install_support(author: Author, tree: Tree, *, kind: str, height_m: float, on: date, note: str = "") -> Support:
    """Record a support that was installed."""
    with author.acting("support installed"):
        support = Support.objects.create(tree=tree, kind=kind, height_m=height_m, installed_on=on, note=note)
        events.record(author, "support.installed", "support", support.uid, tree_id=tree.pk)
    return support
