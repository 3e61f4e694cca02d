"""The only adapter from rows to what the methods take: trees and ratings as arrays, facts of one tree, the policy."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from assessments import binary, decay_growths
from assessments.methods import policy as policies
from assessments.methods import risk
from assessments.methods.findings import TreeFacts
from assessments.methods.priority import NULL_DATE, RATING, TREE, Rows
from assessments.models import Policy
from assessments.models.target import PEOPLE_KINDS
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.statements import statement

# Findings whose weakness goes on by itself between two looks: their tree is seen sooner. Project's choice.
WEAKENING_KINDS: Final = (
    "cavity",
    "decay",
    "fruiting_body",
    "canker",
    "insect_sign",
    "root_loss",
    "root_plate_lift",
    "crack",
)
# The families of the order Pinales, which hold all conifers.
CONIFER_FAMILIES: Final = frozenset(
    {
        "Araucariaceae",
        "Cephalotaxaceae",
        "Cupressaceae",
        "Pinaceae",
        "Podocarpaceae",
        "Sciadopityaceae",
        "Taxaceae",
        "Taxodiaceae",
    }
)


@dataclass(frozen=True)
class Chosen:
    """Which trees: those of a list of ids, or those with low < id <= high."""

    ids: tuple[int, ...] | None
    low: int = 0
    high: int = 0

    @classmethod
    def of(cls, tree_ids: Sequence[int]) -> "Chosen":
        """The trees of a list."""
        return cls(tuple(tree_ids))

    @classmethod
    def between(cls, low: int, high: int) -> "Chosen":
        """The trees with low < id <= high."""
        return cls(None, low, high)

    @property
    def params(self) -> dict[str, Any]:
        """What the condition needs."""
        if self.ids is None:
            return {"chosen_low": self.low + 1, "chosen_high": self.high}
        return {"chosen_ids": list(self.ids)}

    def put(self, query: str) -> str:
        """Put the condition in place of each `chosen(column)`."""
        condition = "BETWEEN %(chosen_low)s AND %(chosen_high)s" if self.ids is None else "= ANY(%(chosen_ids)s)"
        return re.sub(r"\bchosen\((\w+\.\w+)\)", rf"(\1 {condition})", query)

    def halves(self) -> tuple["Chosen", ...]:
        """Both halves; nothing where there is but one tree."""
        if self.ids is None:
            middle = (self.low + self.high) // 2
            parts = Chosen(None, self.low, middle), Chosen(None, middle, self.high)
            return parts if self.high - self.low > 1 else ()
        middle = len(self.ids) // 2
        return (Chosen(self.ids[:middle]), Chosen(self.ids[middle:])) if middle else ()


_WORDS: Final = {
    "none": NULL_DATE,
    "failure": list(risk.FAILURE),
    "impact": list(risk.IMPACT),
    "consequences": list(risk.CONSEQUENCES),
    "occupancy": list(risk.OCCUPANCY),
    "people": list(PEOPLE_KINDS),
    "signs": list(WEAKENING_KINDS),
    "near_m": decay_growths.NEAR_M,
    "standing": list(STANDING),
}


def read(chosen: Chosen) -> tuple[Rows, Rows]:
    """Read the standing trees chosen, (n,) of TREE by rising id, and their ratings, (m,) of RATING by tree."""
    found, ratings = _trees(chosen), _read("read_ratings", chosen, RATING)
    # A tree that no longer stands keeps its ratings.
    return found, ratings[np.isin(ratings["tree_id"], found["tree_id"])]


def trees(tree_ids: Sequence[int]) -> Rows:
    """Read the standing trees of a list, (n,) of TREE by rising id."""
    return _trees(Chosen.of(tree_ids))


def _trees(chosen: Chosen) -> Rows:
    rows = _read("read_trees", chosen, TREE)
    return rows[np.argsort(rows["tree_id"])]


def _read(name: str, chosen: Chosen, dtype: Any) -> Rows:
    query = chosen.put(statement("assessments", name))
    return binary.read(query, {**_WORDS, **chosen.params}, dtype)


def facts(tree: Tree) -> TreeFacts:
    """What the checks and likelihoods want to know of a tree; its size is the newest one known."""
    family = tree.species.family if tree.species else ""
    return TreeFacts(
        dbh_cm=tree.dbh_cm,
        height_m=tree.height_m,
        conifer=(family in CONIFER_FAMILIES) if family else None,
        dead=tree.state == "dead",
    )


def decay_rule_since() -> int:
    """The policy since which the numbers for decay growth are those in force; 1 before any is adopted."""
    since, kept = 1, None
    for version, data in Policy.objects.order_by("-version").values_list("version", "data__decay_growth"):
        if kept is not None and data != kept[0]:
            break
        since, kept = version, (data,)
    return since


def policy_in_force() -> tuple[int, policies.Policy]:
    """The number and the content of the newest policy; number 0, the shipped one, before any is adopted."""
    newest = Policy.objects.order_by("-version").first()
    if newest is None:
        return 0, policies.default_policy()
    return newest.version, policies.Policy.from_data(newest.data)
