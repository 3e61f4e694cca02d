"""Puts back what a merge changed, from the history: each tree and site as it was before, where nobody touched it."""

import uuid
from typing import Final

from django.db import connection

from inventory import services
from inventory.intake import rows as writing
from inventory.intake.progress import Progress
from inventory.intake.rows import BLOCK_ROWS
from inventory.models import IntakeMerge, Measurement
from inventory.statements import statement

# What a merge may change; the sizes of a tree follow from its measurements.
_COLUMNS: Final = {
    "tree": ("external_key", "species_id", "species_text", "location", "zone_id", "planted_from", "planted_to", "state",
             "removed_on", "removal_reason", "note"),
    "site": ("external_key", "location", "zone_id", "street", "house_number", "place", "growing_space",
             "strip_width_m", "state"),
}  # fmt: skip


def changed_since(merge: IntakeMerge) -> dict[str, int]:
    """How many of the trees and sites that the merge changed were changed again since; empty for none."""
    found = {}
    for table in _COLUMNS:
        with connection.cursor() as cursor:
            sql = statement("inventory", "merge_changed_since").replace("past_table", f"{table}_past")
            cursor.execute(sql, {"act": merge.act, "undone": undone_acts()})
            found[f"{table}s that it changed, changed since"] = int(cursor.fetchone()[0])
    return {what: count for what, count in found.items() if count}


def undone_acts() -> list[uuid.UUID]:
    """The acts of merges that were put back, and those that put them back: together they changed nothing."""
    pairs = IntakeMerge.objects.exclude(undo_act=None).values_list("act", "undo_act")
    return [act for pair in pairs for act in pair if act]


def measured(merge: IntakeMerge) -> list[int]:
    """The trees that stood before and were given a measurement."""
    rows = Measurement.objects.filter(intake_load=merge.load).exclude(tree__intake_load=merge.load)
    return list(rows.values_list("tree_id", flat=True))


def put_back(merge: IntakeMerge, trees: list[int], progress: Progress) -> None:
    """Restore what the merge changed, once what it brought in is deleted; `trees`: those that it had measured."""
    for table, columns in _COLUMNS.items():
        progress(0, None, f"putting {table}s back")
        with connection.cursor() as cursor:
            cursor.execute(_before(table, columns), {"act": merge.act})
            cursor.execute("ANALYZE merge_before")
            writing.plan_anew()
            # A key that went from one thing to another is free before it goes back.
            cursor.execute(
                f"UPDATE {table} t SET external_key = NULL FROM merge_before b"
                " WHERE t.id = b.id AND t.external_key IS NOT NULL AND t.external_key IS DISTINCT FROM b.external_key"
            )
            writing.plan_anew()
            values = ", ".join(f"{column} = b.{column}" for column in columns)
            cursor.execute(f"UPDATE {table} t SET {values} FROM merge_before b WHERE t.id = b.id")
            cursor.execute("DROP TABLE merge_before")
    writing.plan_anew()
    for start in range(0, len(trees), BLOCK_ROWS):
        services.restate_sizes(trees[start : start + BLOCK_ROWS])
        progress(start, len(trees), "putting sizes back")


def _before(table: str, columns: tuple[str, ...]) -> str:
    """Each row that the act changed, as the history has it before the act. The names are ours, never a user's."""
    return (
        "CREATE TEMPORARY TABLE merge_before ON COMMIT DROP AS"
        f" SELECT DISTINCT ON (b.pgh_obj_id) b.pgh_obj_id AS id, {', '.join(f'b.{column}' for column in columns)}"
        f" FROM (SELECT pgh_obj_id, min(pgh_id) AS first FROM {table}_past"
        " WHERE pgh_context_id = %(act)s AND pgh_label = 'update' GROUP BY pgh_obj_id) mine"
        # A join of whole tables: row by row the history would be walked by its own key, which is slow.
        f" JOIN {table}_past b ON b.pgh_obj_id = mine.pgh_obj_id AND b.pgh_id < mine.first"
        f" JOIN {table} t ON t.id = b.pgh_obj_id"
        " ORDER BY b.pgh_obj_id, b.pgh_id DESC"
    )
