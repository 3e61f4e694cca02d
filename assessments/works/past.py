"""What of a tree's past lies in the works: the history tables of its order items, their reports and verdicts."""

from typing import Final

from inventory.past import Source

_OF_ITEMS: Final = (
    "p.pgh_obj_id IN (SELECT part.id FROM {table} part JOIN order_item i ON i.id = part.item_id"
    " WHERE i.tree_id = %(tree)s)"
)

SOURCES: Final = (
    Source("order_item", "order_item_past", "p.pgh_obj_id IN (SELECT id FROM order_item WHERE tree_id = %(tree)s)"),
    Source("item_report", "item_report_past", _OF_ITEMS.format(table="item_report")),
    Source("verification", "verification_past", _OF_ITEMS.format(table="verification")),
)
