"""Locks what is about to be written, and refuses where somebody changed it after it was read."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from django.db import connection

from inventory.intake.merge.differ import Differences
from inventory.intake.table import Bools, Ints
from inventory.models import IntakeMerge
from inventory.problems import Conflict
from inventory.statements import statement

if TYPE_CHECKING:
    from inventory.intake.merge.plan import Plan

IDS_AT_ONCE = 100_000


def require_as_read(plan: "Plan") -> None:
    """Lock the trees and sites that the plan writes, until the transaction ends.

    Raises Conflict where one of them is not as the plan has it: a merge may take minutes, and what a person wrote
    meanwhile would be overwritten without being asked.
    """
    trees, vacant = plan.both.trees.whole, plan.both.vacant.whole
    of_trees, of_sites = _trees(plan), _sites(plan)
    has_site = of_trees[trees["site_id"][of_trees] >= 0]
    sites = np.concatenate([trees["site_id"][has_site], vacant["id"][of_sites]])
    site_versions = np.concatenate([trees["site_version"][has_site], vacant["version"][of_sites]])
    changed = _changed("tree", trees["id"][of_trees], trees["version"][of_trees])
    changed += _changed("site", sites, site_versions)
    if changed:
        raise Conflict(
            f"{changed:,} of the trees and sites that the merge writes were changed while the file was compared. "
            "Nothing was written: merge again"
        )


def lock_load(load: int, merge: IntakeMerge | None) -> None:
    """Lock the trees and sites that a load brought in, and those that a merge changed, until the transaction ends."""
    for table in ("tree", "site"):
        with connection.cursor() as cursor:
            sql = statement("inventory", "lock_load").replace("past_table", f"{table}_past")
            act = merge.act if merge else None
            cursor.execute(sql.replace("table_name", table), {"load": load, "act": act})


def _trees(plan: "Plan") -> Ints:
    """The places of the trees of which anything is written."""
    gone = plan.of_kind("gone")
    gone = plan.matching.tree[gone[plan.rows_taken[gone]]]
    vanished = plan.vanished[plan.vanished_taken]
    return np.unique(np.concatenate([_written(plan.trees, plan.taken.values()), gone, vanished]))


def _sites(plan: "Plan") -> Ints:
    """The places of the vacant sites that change, or on which a tree is planted."""
    appeared = plan.of_kind("appeared")
    planted = plan.matching.site[appeared[plan.rows_taken[appeared]]]
    return np.unique(np.concatenate([_written(plan.sites, plan.sites_taken.values()), planted[planted >= 0]]))


def _written(found: Differences, taken: Iterable[Bools]) -> Ints:
    return found.held[np.logical_or.reduce(list(taken))]


def _changed(table: str, ids: Ints, versions: Ints) -> int:
    """How many of these rows have another version by now, or are not there any more."""
    ids, first = np.unique(ids, return_index=True)
    versions, same = versions[first], 0
    sql = statement("inventory", "merge_as_read").replace("table_name", table)
    for start in range(0, len(ids), IDS_AT_ONCE):
        some = slice(start, start + IDS_AT_ONCE)
        with connection.cursor() as cursor:
            cursor.execute(sql, {"ids": ids[some].tolist(), "versions": versions[some].tolist()})
            same += int(cursor.fetchone()[0])
    return len(ids) - same
