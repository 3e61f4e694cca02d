"""What a merge finds and would do: the kind of every row and tree, where each difference stands, what is taken."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from inventory.intake.examine import VERDICTS, Examination
from inventory.intake.merge import decide, differ, since, standing, systematic
from inventory.intake.merge.choices import Choices
from inventory.intake.merge.differ import CONFLICT, FREE, KEPT, SYSTEMATIC, Differences
from inventory.intake.merge.match import Matching, Sides, match, sides
from inventory.intake.merge.systematic import Factor
from inventory.intake.progress import Progress
from inventory.intake.table import Bools, Ints
from inventory.models.intake_trial import KINDS
from inventory.problems import Invalid

CODE: Final = {name: code for code, name in enumerate(KINDS)}
# Of the rows that could be here this share must be, for the file to be one of this city (the project's choice).
LEAST_MATCHED = 0.01
WARNED, REFUSED = VERDICTS.index("warned"), VERDICTS.index("refused")


@dataclass
class Plan:
    """One file against the inventory."""

    examination: Examination
    both: Sides
    matching: Matching
    trees: Differences  # standing rows that are standing trees
    sites: Differences  # vacant rows that are vacant sites
    factors: dict[str, Factor]
    kinds: Ints  # of each row, a code of KINDS
    vanished: Ints  # places of trees that the file had before and has no more
    only_ours: Ints  # places of standing trees that no file had
    file_day: Ints  # of each row the day of its sizes
    # What is taken, of the differences by field, of the rows that appeared or are gone, of the vanished trees.
    taken: dict[str, Bools] = field(default_factory=dict)
    sites_taken: dict[str, Bools] = field(default_factory=dict)
    rows_taken: Bools = field(default_factory=lambda: np.zeros(0, bool))
    vanished_taken: Bools = field(default_factory=lambda: np.zeros(0, bool))

    def of_kind(self, *names: str) -> Ints:
        """The rows of these kinds."""
        return np.flatnonzero(np.isin(self.kinds, [CODE[name] for name in names]))


def make(examination: Examination, choices: Choices, default_day: int, anyway: bool, progress: Progress) -> Plan:
    """Match, compare, judge and decide. Raises Invalid where there is nothing to merge with, or nothing matches."""
    both = sides(examination, standing.trees(progress), standing.vacant(progress))
    if not both.trees.standing.any():
        raise Invalid.field("#/file", "no tree stands in the inventory: load the file instead of merging it")
    progress(0, None, "matching")
    matching = match(both)
    _require_this_city(both, matching, anyway)
    progress(0, None, "comparing")
    plan = _compared(examination, both, matching, default_day)
    # A load refuses a row that says that its tree is gone, and one with a repeated key: here they may be told.
    verdicts = examination.verdicts
    verdicts[(plan.kinds != CODE["refused"]) & (verdicts == REFUSED)] = WARNED
    _stand(plan)
    progress(0, None, "deciding")
    decide.decide(plan, choices)
    return plan


def _require_this_city(both: Sides, matching: Matching, anyway: bool) -> None:
    rows = int((both.facts.standing & ~both.refused).sum())
    trees = int(both.trees.standing.sum())
    matched = int((matching.tree >= 0).sum())
    if not anyway and matched <= LEAST_MATCHED * min(rows, trees):
        told = f"of its {rows:,} trees {matched:,} are among the {trees:,} here, by key or by place and species"
        raise Invalid.field("#/file", f"this seems to be no later file of this city: {told}. Nothing was changed")


def _compared(examination: Examination, both: Sides, matching: Matching, default_day: int) -> Plan:
    facts = both.facts
    live = np.flatnonzero(matching.tree >= 0)
    if not np.isnan(facts.table.numbers["height_low_m"]).all():
        since.add_height_classes(both.trees, matching.tree[live])
    else:
        both.trees.numbers.update(dict.fromkeys(("height_low_m", "height_high_m"), np.full(len(both.trees), np.nan)))
    trees, sites = differ.of_trees(both, matching), differ.of_sites(both, matching)
    free = matching.free_trees(both.trees.standing)
    from_file = both.trees.whole["load"][free] >= 0
    day = facts.table.days["measured_on"]
    return Plan(
        examination, both, matching, trees, sites, systematic.factors(both, trees),
        _kinds(both, matching, trees, sites), free[from_file], free[~from_file], np.where(day < 0, default_day, day),
    )  # fmt: skip


def _kinds(both: Sides, matching: Matching, trees: Differences, sites: Differences) -> Ints:
    facts = both.facts
    kinds = np.full(len(facts.table), CODE["appeared"], np.int64)
    matched = matching.tree >= 0
    ours_stands = matched & both.trees.standing[np.maximum(matching.tree, 0)]
    kinds[matched | (matching.site >= 0)] = CODE["same"]
    kinds[ours_stands & ~facts.standing] = CODE["gone"]
    kinds[matched & ~ours_stands & facts.standing] = CODE["returned"]
    kinds[(matching.site >= 0) & facts.standing] = CODE["appeared"]
    for found in (trees, sites):
        kinds[found.rows[found.any_of("location")]] = CODE["moved"]
        others = [name for name in found.differs if name != "location"]
        kinds[found.rows[found.any_of(*others)]] = CODE["changed"]
    kinds[facts.is_state("removed") & ~matched & (matching.site < 0)] = CODE["refused"]
    kinds[list(matching.unclear)] = CODE["ambiguous"]
    kinds[both.refused] = CODE["refused"]
    return kinds


def _stand(plan: Plan) -> None:
    """Find out where each difference stands: free, against what a person did, older than ours, or systematic."""
    for found, held, table, columns in (
        (plan.trees, plan.both.trees, "tree", since.OF_TREE),
        (plan.sites, plan.both.vacant, "site", since.OF_SITE),
    ):
        ids, version = held.whole["id"][found.held], held.whole["version"][found.held]
        _edits(found, table, {n: c for n, c in columns.items() if n in found.differs}, ids, version)
        by_hand = held.whole["load"][found.held] < 0
        for stands in found.stands.values():
            stands[by_hand] = CONFLICT
    site_columns = {name: columns for name, columns in since.OF_SITE.items() if name in differ.SITE_FIELDS}
    whole = plan.both.trees.whole
    _edits(plan.trees, "site", site_columns, whole["site_id"][plan.trees.held], whole["site_version"][plan.trees.held])
    unknown_now = plan.both.row_traits.taxon[plan.trees.rows] < 0
    known_here = plan.both.tree_traits.taxon[plan.trees.held] >= 0
    plan.trees.stands["species"][unknown_now & known_here] = CONFLICT
    _sizes(plan)
    _shifted(plan)


def _edits(found: Differences, table: str, columns: Mapping[str, tuple[str, ...]], ids: Ints, version: Ints) -> None:
    """Mark the differences in fields that a person changed since; a row of the first version was never changed."""
    which = np.flatnonzero(found.any_of(*columns) & (version > 1) & (ids >= 0))
    for name, flags in since.edited(table, columns, ids[which]).items():
        found.stands[name][which[flags]] = CONFLICT


def _sizes(plan: Plan) -> None:
    found = plan.trees
    which = np.flatnonzero(found.any_of(*differ.SIZES))
    newest = since.newest(plan.both.trees.whole["id"][found.held[which]])
    day = plan.file_day[found.rows[which]]
    for name in differ.SIZES:
        stands = np.where(newest.by_person[name], CONFLICT, FREE)
        found.stands[name][which] = np.where(newest.day[name] > day, KEPT, stands)
    for name, factor in plan.factors.items():
        hit = systematic.by_factor(plan.both, found, name, factor)
        found.stands[name][hit & (found.stands[name] == FREE)] = SYSTEMATIC


def _shifted(plan: Plan) -> None:
    shift = plan.matching.shift
    if shift.metres:
        for found in (plan.trees, plan.sites):
            along = found.metres <= max(differ.SAME_PLACE_M, 0.1 * shift.metres)
            found.stands["location"][along & (found.stands["location"] == FREE)] = SYSTEMATIC


def counts(plan: Plan) -> dict[str, Any]:
    """Everything counted: rows by kind, differences by field and standing, what is taken, how rows were matched."""
    kinds = {name: int((plan.kinds == code).sum()) for name, code in CODE.items()}
    kinds |= {"vanished": len(plan.vanished), "only_ours": len(plan.only_ours)}
    by_key = plan.matching.by_key & (plan.matching.tree >= 0)
    return {
        "rows": len(plan.kinds),
        "trees_here": int(plan.both.trees.standing.sum()),
        "kinds": kinds,
        "matched": {"by_key": int(by_key.sum()), "by_place": int(((plan.matching.tree >= 0) & ~by_key).sum())},
        "fields": _fields(plan),
        "taken": _taken(plan),
        "refused_reasons": plan.examination.counts()["reasons"],
    }


def _fields(plan: Plan) -> dict[str, dict[str, int]]:
    told = {}
    for name in differ.FIELDS:
        numbers = dict.fromkeys(("differs", *differ.STANDINGS, "taken"), 0)
        for found, taken in ((plan.trees, plan.taken), (plan.sites, plan.sites_taken)):
            if name in found.differs:
                which = found.differs[name]
                numbers["differs"] += int(which.sum())
                for code, word in enumerate(differ.STANDINGS):
                    numbers[word] += int((found.stands[name][which] == code).sum())
                numbers["taken"] += int(taken[name].sum())
        if numbers["differs"]:
            told[name] = numbers
    return told


def _taken(plan: Plan) -> dict[str, int]:
    sizes = np.logical_or.reduce([plan.taken[name] for name in differ.SIZES])
    edits = np.logical_or.reduce([plan.taken[name] for name in plan.taken if name not in differ.SIZES])
    sites = np.logical_or.reduce(list(plan.sites_taken.values()))
    return {
        "trees_changed": int((edits | sizes).sum()),
        "measurements": int(sizes.sum()),
        "sites_changed": int(sites.sum()),
        "appeared": int(plan.rows_taken[plan.of_kind("appeared")].sum()),
        "gone": int(plan.rows_taken[plan.of_kind("gone")].sum()),
        "vanished": int(plan.vanished_taken.sum()),
    }
