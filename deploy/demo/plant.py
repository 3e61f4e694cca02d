"""Writes zones, places, trees and measurements of the invented city, set by set, in the forester's name."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TypeAlias

from django.contrib.gis.geos import MultiPolygon, Polygon
from django.db import connection

from deploy.demo import days, ground
from deploy.demo.city import City
from deploy.demo.places import Spot
from deploy.demo.plane import degrees
from deploy.demo.stock import Size, TreePlan
from inventory.history import Author
from inventory.models import Site, Species, Tree, Zone

Row: TypeAlias = tuple[Any, ...]
_GONE: Final = ("stump", "removed")


def plant(forester: Author, city: City) -> dict[str, Tree]:
    """Write what stands where; give the trees by tag."""
    with forester.acting("inventory taken over from the ward books"):
        zones = _zones()
        sites = _sites(city, zones)
        trees = _trees(city, zones, sites)
        _measurements(city.trees, trees, forester)
    return trees


def _place(spot: Spot) -> str:
    """A place as the database reads it."""
    lon, lat = degrees((spot.east, spot.north))
    return f"SRID=4326;POINT({lon} {lat})"


def _zones() -> dict[str, int]:
    rows = [
        Zone(code=plan.code, name=plan.name, occupancy=plan.occupancy, area=_area([degrees(p) for p in plan.polygon]))
        for plan in ground.ZONES
    ]
    return {zone.code: zone.pk for zone in Zone.objects.bulk_create(rows)}


def _area(corners: list[tuple[float, float]]) -> MultiPolygon:
    return MultiPolygon(Polygon([*corners, corners[0]]), srid=4326)


def _sites(city: City, zones: Mapping[str, int]) -> dict[int, int]:
    """A site for each place but those of trees that stand free without one; it is vacant when its last tree went."""
    last = {tree.spot.number: tree for tree in city.trees}
    kept = [spot for spot in city.spots if spot.number not in last or last[spot.number].on_site]
    keys = {spot.number: days.key("site", spot.number) for spot in kept}
    columns = (
        "uid", "location", "zone_id", "street", "house_number", "place", "growing_space", "strip_width_m",
        "overhead_lines", "occupancy", "state",
    )  # fmt: skip
    _copy("site", columns, (_site(spot, keys[spot.number], zones, last.get(spot.number)) for spot in kept))
    ids = dict(Site.objects.values_list("uid", "pk"))
    return {number: ids[key] for number, key in keys.items()}


def _site(spot: Spot, key: uuid.UUID, zones: Mapping[str, int], last: TreePlan | None) -> Row:
    state = spot.state if last is None else "vacant" if last.state in _GONE else "planted"
    return (
        key, _place(spot), zones[spot.zone], spot.street, spot.house_number, spot.place, spot.space, spot.strip_m,
        spot.lines, spot.occupancy, state,
    )  # fmt: skip


def _trees(city: City, zones: Mapping[str, int], sites: Mapping[int, int]) -> dict[str, Tree]:
    species = dict(Species.objects.values_list("botanical_name", "pk"))
    columns = (
        "uid", "tag", "site_id", "species_id", "location", "zone_id", "planted_from", "planted_to", "state",
        "removed_on", "removal_reason", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m",
    )  # fmt: skip
    _copy("tree", columns, (_tree(plan, species, zones, sites) for plan in city.trees))
    return {str(tree.tag): tree for tree in Tree.objects.all()}


def _tree(plan: TreePlan, species: Mapping[str, int], zones: Mapping[str, int], sites: Mapping[int, int]) -> Row:
    return (
        plan.uid, plan.tag, sites.get(plan.spot.number), species[plan.species.botanical_name], _place(plan.spot),
        zones[plan.spot.zone], plan.planted_from, plan.planted_to, plan.state, plan.removed_on, plan.removal_reason,
        *_sizes(plan.sizes[-1] if plan.sizes else None),
    )  # fmt: skip


def _sizes(size: Size | None) -> Row:
    """dbh with its bounds (cm), height and crown (m): a tree repeats its newest measurement."""
    if size is None:
        return None, None, None, None, None
    if size.bounds_cm:
        return None, *size.bounds_cm, None, None
    return size.body.dbh_cm, None, None, size.body.height_m, size.body.crown_m


def _measurements(plans: Iterable[TreePlan], trees: Mapping[str, Tree], forester: Author) -> None:
    def key(plan: TreePlan, size: Size) -> uuid.UUID:
        return days.key("measurement", plan.tag, size.on)

    columns = (
        "uid", "tree_id", "measured_on", "measured_by_id", "method", "dbh_cm", "dbh_low_cm", "dbh_high_cm",
        "height_m", "crown_m",
    )  # fmt: skip
    rows = (
        (key(plan, size), trees[plan.tag].pk, size.on, forester.user_id, size.method, *_sizes(size))
        for plan in plans
        for size in plan.sizes
    )
    _copy("measurement", columns, rows)


def _copy(table: str, columns: Sequence[str], rows: Iterable[Row]) -> None:
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)
