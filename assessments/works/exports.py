"""An order as a table: one row an item, for CSV and GeoJSON, read in pieces."""

from collections.abc import Iterator
from typing import Any, Final

from assessments.works import queries, states
from assessments.works.models import OrderItem, WorkOrder
from inventory.formats import csv_writer, geojson_writer
from inventory.formats.geojson_writer import Feature

_PIECE: Final = 500
_PLACE: Final = ("longitude", "latitude")
COLUMNS: Final = (
    "order",
    "item",
    "tree",
    "tag",
    "species",
    "street",
    "house_number",
    "zone",
    "dbh_cm",
    "height_m",
    "tree_state",
    "action",
    "action_in_words",
    "reason",
    "due_on",
    "state",
    "cautions",
)


def csv(order: WorkOrder) -> Iterator[bytes]:
    """The items as CSV; longitude and latitude in degrees (WGS 84), 7 decimals."""
    rows = (
        (*_row(order, item), round(item.tree.location.x, 7), round(item.tree.location.y, 7)) for item in _items(order)
    )
    return csv_writer.write((*COLUMNS, *_PLACE), rows)


def geojson(order: WorkOrder) -> Iterator[bytes]:
    """The items as a GeoJSON feature collection of points."""
    features = (
        Feature(str(item.uid), item.tree.location, dict(zip(COLUMNS, _row(order, item), strict=True)))
        for item in _items(order)
    )
    return geojson_writer.write(features)


def _items(order: WorkOrder) -> Iterator[OrderItem]:
    return queries.items(order).prefetch_related(None).iterator(chunk_size=_PIECE)


def _place(item: OrderItem) -> tuple[float, float]:
    location = item.tree.location
    return round(location.x, 7), round(location.y, 7)


def _row(order: WorkOrder, item: OrderItem) -> tuple[Any, ...]:
    tree, site = item.tree, item.tree.site
    return (
        order.number,
        str(item.uid),
        str(tree.uid),
        tree.tag,
        tree.species.botanical_name if tree.species else tree.species_text or None,
        site.street if site else None,
        site.house_number if site else None,
        tree.zone.code if tree.zone else None,
        tree.dbh_cm,
        tree.height_m,
        tree.state,
        item.action,
        states.ACTIONS[item.action],
        item.reason,
        item.due_on.isoformat(),
        item.state,
        " ".join(item.cautions),
    )
