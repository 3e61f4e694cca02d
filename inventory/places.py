"""Desk edits of the places: zones and sites."""

from collections.abc import Mapping
from typing import Any, Final

from django.contrib.gis.geos import GEOSGeometry, MultiPolygon, Polygon
from django.db import IntegrityError, connection

from inventory import events
from inventory.history import Author
from inventory.models import Site, Zone
from inventory.problems import Conflict, Invalid, Stale
from inventory.statements import statement

ZONE_EDITABLE: Final = ("code", "name", "area", "occupancy")
SITE_EDITABLE: Final = (
    "street",
    "house_number",
    "place",
    "growing_space",
    "strip_width_m",
    "overhead_lines",
    "occupancy",
    "state",
)


def make_zone(author: Author, *, code: str, name: str, area: GEOSGeometry, occupancy: str | None = None) -> Zone:
    """Add a zone; the trees and sites inside are assigned to it. Raises Conflict for a code that is taken."""
    with author.acting("zone made"):
        zone = _saved(Zone(code=code, name=name, area=_multi(area), occupancy=occupancy))
        _assign(zone.area)
        events.record(author, "zone.made", "zone", data={"zone": zone.pk, "code": code})
    zone.refresh_from_db()
    return zone


def edit_zone(author: Author, zone: Zone, changes: Mapping[str, Any], *, version: int, why: str) -> Zone:
    """Change a zone; where its area changes the trees and sites are assigned anew. Raises Stale, Invalid, Conflict."""
    _only(changes, ZONE_EDITABLE)
    with author.acting(why):
        locked = Zone.objects.select_for_update().get(pk=zone.pk)
        _still(locked.version, version)
        before = locked.area
        for name, value in changes.items():
            setattr(locked, name, _multi(value) if name == "area" else value)
        _saved(locked)
        if "area" in changes:
            _assign(before)
            _assign(locked.area)
        data = {"zone": locked.pk, "fields": sorted(changes)}
        events.record(author, "zone.edited", "zone", data=data)
    locked.refresh_from_db()
    return locked


def edit_site(author: Author, site: Site, changes: Mapping[str, Any], *, version: int, why: str) -> Site:
    """Change what a desk may change of a site. Raises Stale, Invalid, Conflict where a tree stands there."""
    _only(changes, SITE_EDITABLE)
    with author.acting(why):
        locked = Site.objects.select_for_update().get(pk=site.pk)
        _still(locked.version, version)
        _state_fits(locked, changes.get("state", locked.state))
        for name, value in changes.items():
            setattr(locked, name, value)
        locked.save(update_fields=list(changes))
        events.record(author, "site.edited", "site", locked.uid, data={"fields": sorted(changes)})
    locked.refresh_from_db()
    return locked


def _state_fits(site: Site, state: str) -> None:
    """`planted` follows from the trees; a desk only tells whether a vacant site can be planted."""
    if state == site.state:
        return
    if "planted" in (state, site.state):
        raise Conflict("a site becomes planted or vacant with its tree, not by an edit")


def _saved(zone: Zone) -> Zone:
    try:
        zone.save()
    except IntegrityError as error:
        if "zone_code" in str(error):
            raise Conflict(f"another zone has the code {zone.code}") from error
        raise
    return zone


def _multi(area: GEOSGeometry) -> MultiPolygon:
    found = MultiPolygon(area) if isinstance(area, Polygon) else area
    if not isinstance(found, MultiPolygon):
        raise Invalid.field("#/area", "must be a polygon")
    found.srid = area.srid
    return found


def _assign(area: GEOSGeometry) -> None:
    """Give the trees and sites inside an area the smallest zone that holds each."""
    with connection.cursor() as cursor:
        for table in ("tree", "site"):
            text = statement("inventory", "assign_zones_inside").replace("{table}", table)
            cursor.execute(text, {"area": area.hexewkb.decode()})


def _only(changes: Mapping[str, Any], editable: tuple[str, ...]) -> None:
    unknown = sorted(set(changes) - set(editable))
    if unknown:
        raise Invalid.field(f"#/{unknown[0]}", "cannot be changed here")


def _still(now: int, version: int) -> None:
    if now != version:
        raise Stale(f"you read version {version}; it is now version {now}")
