"""What people did since the files before: edits of fields as the history tells, measurements as they are dated."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.db import connection

from inventory.intake.merge.differ import SIZES
from inventory.intake.merge.standing import Held
from inventory.intake.settled_acts import settled_acts
from inventory.intake.table import Bools, Ints
from inventory.models import IntakeMerge
from inventory.statements import statement

IDS_AT_ONCE = 20_000
# Field of a merge -> columns of the table whose history tells of edits.
OF_TREE = {
    "key": ("external_key",), "species": ("species_id", "species_text"), "planted": ("planted_from", "planted_to"),
    "state": ("state",), "note": ("note",), "location": ("location",),
}  # fmt: skip
OF_SITE = {
    "key": ("external_key",), "location": ("location",), "street": ("street",), "house_number": ("house_number",),
    "place": ("place",), "growing_space": ("growing_space",), "strip_width_m": ("strip_width_m",),
}  # fmt: skip


@dataclass(frozen=True)
class Newest:
    """Of each tree and size: the day of its newest measurement (-1: none) and whether a person made it."""

    day: dict[str, Ints]
    by_person: dict[str, Bools]


def edited(table: str, columns: Mapping[str, tuple[str, ...]], ids: Ints) -> dict[str, Bools]:
    """Which fields of which rows (`tree` or `site`, by id) were changed last by anything but a merge that stands."""
    found = {name: np.zeros(len(ids), bool) for name in columns}
    if not len(ids):
        return found
    acts = _acts()
    place = {key: at for at, key in enumerate(ids.tolist())}
    for block in _blocks(ids):
        with connection.cursor() as cursor:
            cursor.execute(_edits(table, columns), {"ids": block, **acts})
            for key, *flags in cursor.fetchall():
                for name, flag in zip(columns, flags, strict=True):
                    found[name][place[key]] = bool(flag)
    return found


def _acts() -> dict[str, list[Any]]:
    """The acts of merges that stand and of settling texts, and those of merges put back, with what put them back."""
    rows = list(IntakeMerge.objects.exclude(act=None).values_list("act", "undo_act"))
    undone = [act for pair in rows if pair[1] for act in pair]
    return {"merges": [act for act, undo in rows if not undo] + settled_acts(), "undone": undone}


def _edits(table: str, columns: Mapping[str, tuple[str, ...]]) -> str:
    """Of each row and field: whether its last change was no merge's. The table and columns are ours, never a user's."""
    names = [column for some in columns.values() for column in some]
    before = ", ".join(f"p.{c} IS DISTINCT FROM lag(p.{c}) OVER w AS {c}_other" for c in names)
    flags = []
    for some in columns.values():
        other = " OR ".join(f"{column}_other" for column in some)
        last = f"coalesce(max(pgh_id) FILTER (WHERE NOT first AND ({other}) AND {{0}}), 0)"
        flags.append(f"{last.format('NOT merged')} > {last.format('merged')}")
    return (
        f"SELECT pgh_obj_id, {', '.join(flags)} FROM (SELECT p.pgh_obj_id, p.pgh_id,"
        f" lag(p.pgh_id) OVER w IS NULL AS first, p.pgh_context_id = ANY(%(merges)s::uuid[]) AS merged, {before}"
        f" FROM {table}_past p WHERE p.pgh_obj_id = ANY(%(ids)s) AND p.pgh_context_id <> ALL(%(undone)s::uuid[])"
        " WINDOW w AS (PARTITION BY p.pgh_obj_id ORDER BY p.pgh_id)) AS changes GROUP BY pgh_obj_id"
    )


def newest(ids: Ints) -> Newest:
    """The newest measurement of each size of these trees (by id)."""
    found = Newest(
        {name: np.full(len(ids), -1, np.int64) for name in SIZES}, {name: np.zeros(len(ids), bool) for name in SIZES}
    )
    for place, row in _newest(ids):
        for at, name in enumerate(SIZES):
            day, mine = row[1 + 2 * at : 3 + 2 * at]
            if day is not None:
                found.day[name][place], found.by_person[name][place] = day, mine
    return found


def add_height_classes(trees: Held, places: Ints) -> None:
    """Fill the height classes of some trees in, which the trees themselves do not repeat. Changes `trees`."""
    low, high = (np.full(len(trees), np.nan) for _ in range(2))
    for place, row in _newest(trees.whole["id"][places]):
        low[places[place]], high[places[place]] = _number(row[-2]), _number(row[-1])
    trees.numbers["height_low_m"], trees.numbers["height_high_m"] = low, high


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _newest(ids: Ints) -> Iterator[tuple[int, tuple[Any, ...]]]:
    place = {key: at for at, key in enumerate(ids.tolist())}
    for block in _blocks(ids):
        with connection.cursor() as cursor:
            cursor.execute(statement("inventory", "merge_newest"), {"trees": block})
            for row in cursor.fetchall():
                yield place[row[0]], row


def _blocks(ids: Ints) -> Iterable[list[int]]:
    return (ids[start : start + IDS_AT_ONCE].tolist() for start in range(0, len(ids), IDS_AT_ONCE))
