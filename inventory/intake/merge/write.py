"""Writes what a plan takes: fields and places by staged UPDATEs, sizes as new measurements, new trees by COPY."""

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from django.db import connection

from inventory import services
from inventory.intake import rows as writing
from inventory.intake.merge import keys, untouched
from inventory.intake.merge.differ import SIZES, Differences
from inventory.intake.merge.standing import Held
from inventory.intake.progress import Progress
from inventory.intake.rows import BLOCK_ROWS, NULL, copy, days, escape, floats
from inventory.intake.table import Bools, Floats, Ints, Texts
from inventory.models import IntakeLoad
from inventory.statements import statement

if TYPE_CHECKING:
    from inventory.intake.merge.plan import Plan

_TREE = ("id", "set_key", "external_key", "set_species", "species_id", "species_text", "set_planted", "planted_from",
         "planted_to", "set_state", "state", "set_note", "note", "set_place", "lon", "lat", "zone_id")  # fmt: skip
_SITE = ("id", "set_key", "external_key", "set_place", "was_lon", "was_lat", "lon", "lat", "zone_id", "set_street",
         "street", "set_number", "house_number", "set_where", "place", "set_space", "growing_space", "set_strip",
         "strip_width_m")  # fmt: skip
# Size -> its columns; those of one size come and go together.
_MEASURED = {
    "dbh": ("dbh_cm", "dbh_low_cm", "dbh_high_cm"),
    "height": ("height_m", "height_low_m", "height_high_m", "crown_base_m"),
    "crown": ("crown_m",),
}  # fmt: skip


def write(plan: "Plan", load: IntakeLoad, day: date, progress: Progress) -> None:
    """Write all that is taken, what is there already first: new trees may bring keys that became free.

    Raises Conflict where any of it was changed since it was read.
    """
    untouched.require_as_read(plan)
    writing.check_at_once()
    _stage()
    _free_keys("tree", plan.trees, plan.both.trees, plan.taken, plan)
    _free_keys("site", plan.sites, plan.both.vacant, plan.sites_taken, plan)
    _in_blocks(plan, plan.taken, _sites_of_trees, progress)
    _in_blocks(plan, plan.sites_taken, _sites, progress)
    _in_blocks(plan, plan.taken, _trees, progress)
    _sizes(plan, load, progress)
    _gone(plan, load, day)
    rows = plan.of_kind("appeared")
    rows = rows[plan.rows_taken[rows]]
    on_site = plan.matching.site[rows] >= 0
    _plant(plan, load, rows[on_site], day)
    writing.add(load, plan.both.facts, rows[~on_site], day, progress)


def _stage() -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", "merge_stage"))


def _in_blocks(
    plan: "Plan", taken: dict[str, Bools], stage: Callable[["Plan", Ints], None], progress: Progress
) -> None:
    """Stage and write the pairs of which anything but a size is taken, a block at a time."""
    fields = [which for name, which in taken.items() if name not in SIZES]
    pairs = np.flatnonzero(np.logical_or.reduce(fields))
    writing.plan_anew()
    for start in range(0, len(pairs), BLOCK_ROWS):
        stage(plan, pairs[start : start + BLOCK_ROWS])
        progress(min(start + BLOCK_ROWS, len(pairs)), len(pairs), "merging")


class _Block:
    """Some pairs as columns of COPY: what the file says, and whether it is taken."""

    def __init__(self, plan: "Plan", found: Differences, held: Held, taken: dict[str, Bools], pairs: Ints) -> None:
        self.table, self._taken, self._pairs = plan.both.facts.table, taken, pairs
        self.rows, self.things, self.held = found.rows[pairs], found.held[pairs], held

    def __len__(self) -> int:
        return len(self.rows)

    def taken(self, name: str) -> Bools:
        """Whether a field of each pair is taken."""
        return self._taken[name][self._pairs] if name in self._taken else np.zeros(len(self), bool)

    def flags(self, name: str) -> list[str]:
        """The same as COPY has it."""
        return ["t" if yes else "f" for yes in self.taken(name).tolist()]

    def texts(self, name: str) -> list[str]:
        """A text of the file."""
        return _texts(self.table.texts[name], self.rows)

    def numbers(self, name: str) -> list[str]:
        """A number of the file."""
        return floats(self.table.numbers[name][self.rows])

    def zones(self) -> list[str]:
        """The zone of the place in the file, where it is taken."""
        found = np.full(len(self), NULL, object)
        moved = np.flatnonzero(self.taken("location"))
        numbers = self.table.numbers
        found[moved] = writing.zones(numbers["lon"][self.rows[moved]], numbers["lat"][self.rows[moved]])
        return [str(zone) for zone in found.tolist()]


def _texts(texts: Texts, rows: Ints) -> list[str]:
    # Only the texts that are asked for: a million keys are not escaped for a block of them.
    return [escape(texts.values[code]) for code in texts.codes[rows].tolist()]


def _trees(plan: "Plan", pairs: Ints) -> None:
    block = _Block(plan, plan.trees, plan.both.trees, plan.taken, pairs)
    ids = [NULL if taxon.species_id is None else str(taxon.species_id) for taxon in plan.both.facts.taxon]
    facts, planted = plan.both.facts, block.table.days
    copy("merge_tree", _TREE, zip(
        map(str, plan.both.trees.whole["id"][block.things].tolist()), block.flags("key"), block.texts("key"),
        block.flags("species"), [ids[code] for code in block.table.texts["species"].codes[block.rows].tolist()],
        block.texts("species"), block.flags("planted"), days(planted["planted_from"][block.rows]),
        days(planted["planted_to"][block.rows]), block.flags("state"), _texts(facts.state, block.rows),
        block.flags("note"), block.texts("note"), block.flags("location"), block.numbers("lon"), block.numbers("lat"),
        block.zones(), strict=True,
    ))  # fmt: skip
    _run("merge_trees")


def _sites_of_trees(plan: "Plan", pairs: Ints) -> None:
    """The sites of trees: their own fields, and their place where it is that of the tree."""
    block = _Block(plan, plan.trees, plan.both.trees, plan.taken, pairs)
    sites = plan.both.trees.whole["site_id"][block.things]
    _stage_sites(block, sites)


def _sites(plan: "Plan", pairs: Ints) -> None:
    block = _Block(plan, plan.sites, plan.both.vacant, plan.sites_taken, pairs)
    _stage_sites(block, plan.both.vacant.whole["id"][block.things], key=True)


def _stage_sites(block: _Block, sites: Ints, *, key: bool = False) -> None:
    was = block.held.numbers
    flags = {name: block.flags(name) for name in ("street", "house_number", "place", "growing_space", "strip_width_m")}
    lines = zip(
        [NULL if site < 0 else str(site) for site in sites.tolist()], block.flags("key") if key else ["f"] * len(block),
        block.texts("key"), block.flags("location"), floats(was["lon"][block.things]), floats(was["lat"][block.things]),
        block.numbers("lon"), block.numbers("lat"), block.zones(), flags["street"], block.texts("street"),
        flags["house_number"], block.texts("number"), flags["place"], block.texts("place"), flags["growing_space"],
        block.texts("space"), flags["strip_width_m"], block.numbers("strip_width_m"), strict=True,
    )  # fmt: skip
    copy("merge_site", _SITE, (line for line in lines if line[0] != NULL)) if (sites >= 0).any() else None
    _run("merge_sites")


def _run(name: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement("inventory", name))


def _free_keys(table: str, found: Differences, held: Held, taken: dict[str, Bools], plan: "Plan") -> None:
    """Take the keys away that go from one thing to another, so that no two have one at any moment."""
    key = plan.both.facts.table.texts["key"]
    incoming = np.zeros(len(key.values), bool)
    incoming[key.codes[found.rows[taken["key"]]]] = True
    appeared = plan.of_kind("appeared")
    incoming[key.codes[appeared[plan.rows_taken[appeared]]]] = True
    incoming[0] = False
    leaving = np.zeros(len(held), bool)
    leaving[found.held[taken["key"]]] = True
    holders = keys.holders(held, key.values)[incoming]
    holders = holders[holders >= 0]
    ids = held.whole["id"][holders[leaving[holders]]]
    writing.plan_anew()
    for start in range(0, len(ids), BLOCK_ROWS):
        with connection.cursor() as cursor:
            some = ids[start : start + BLOCK_ROWS].tolist()
            cursor.execute(f"UPDATE {table} SET external_key = NULL WHERE id = ANY(%s)", [some])


def _sizes(plan: "Plan", load: IntakeLoad, progress: Progress) -> None:
    """The sizes that are taken, as new measurements; what is not taken of a row is left out of its measurement."""
    found = plan.trees
    pairs = np.flatnonzero(np.logical_or.reduce([plan.taken[name] for name in SIZES]))
    writing.plan_anew()
    for start in range(0, len(pairs), BLOCK_ROWS):
        some = pairs[start : start + BLOCK_ROWS]
        ids = plan.both.trees.whole["id"][found.held[some]]
        columns = _measured(plan, some)
        copy("measurement", ("tree_id", "measured_on", "method", "intake_load_id", *columns), zip(
            map(str, ids.tolist()), days(plan.file_day[found.rows[some]]), ["city_file"] * len(some),
            [str(load.pk)] * len(some), *(floats(values) for values in columns.values()), strict=True,
        ))  # fmt: skip
        services.restate_sizes(ids.tolist())
        progress(min(start + BLOCK_ROWS, len(pairs)), len(pairs), "adding measurements")


def _measured(plan: "Plan", pairs: Ints) -> dict[str, Floats]:
    found, numbers = plan.trees, plan.both.facts.table.numbers
    columns = {}
    for name, parts in _MEASURED.items():
        told = plan.taken[name][pairs] | ~found.differs[name][pairs]
        for part in parts:
            columns[part] = np.where(told, numbers[part][found.rows[pairs]], np.nan)
    # A crown base belongs to a height.
    columns["crown_base_m"][np.isnan(columns["height_m"])] = np.nan
    return columns


def _gone(plan: "Plan", load: IntakeLoad, day: date) -> None:
    """Trees that the file says are gone, or does not have any more, where that is taken."""
    rows = plan.of_kind("gone")
    rows = rows[plan.rows_taken[rows]]
    stump = plan.both.facts.is_state("stump")[rows]
    ids = plan.both.trees.whole["id"]
    trees = ids[plan.matching.tree[rows]]
    vanished = ids[plan.vanished[plan.vanished_taken]]
    _fell(trees[stump], "stump", day, f"a stump in the city's file {load.file_name}")
    _fell(trees[~stump], "removed", day, f"no tree there any more in the city's file {load.file_name}")
    _fell(vanished, "removed", day, f"not in the city's file {load.file_name} any more")


def _fell(trees: Ints, state: str, day: date, reason: str) -> None:
    writing.plan_anew()
    for start in range(0, len(trees), BLOCK_ROWS):
        some = trees[start : start + BLOCK_ROWS].tolist()
        with connection.cursor() as cursor:
            cursor.execute(
                statement("inventory", "merge_fell"), {"trees": some, "state": state, "day": day, "reason": reason}
            )
            cursor.execute(statement("inventory", "merge_vacate"), {"trees": some})


def _plant(plan: "Plan", load: IntakeLoad, rows: Ints, day: date) -> None:
    sites = plan.both.vacant.whole["id"][plan.matching.site[rows]]
    if len(sites):
        writing.plan_anew()
        with connection.cursor() as cursor:
            cursor.execute("UPDATE site SET state = 'planted' WHERE id = ANY(%s)", [sites.tolist()])
        writing.plant(load, plan.both.facts, rows, sites, day)
