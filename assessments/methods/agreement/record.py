"""Each assessor's record against opened stems, and the agreement between assessors: for learning, never a ranking."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from assessments.methods.risk import FAILURE
from assessments.methods.section.integrals import Floats

from .kappa import Kappa
from .kappa import by_tree as kappa_by_tree
from .scores import Brier, brier, interval_score, wilson

METHOD: Final = "assessor_record"
VERSION: Final = 1

# Below it a record says nothing of a person: project's choice.
LEAST_TREES: Final = 10
# Okun et al. 2023: 18 assessors, 30 trees over 50 cm: at least 83 % of trees were put into two categories or more.
PUBLISHED_SPREAD: Final = 0.83
FRAME: Final = (
    "Frame: 18 assessors of 30 large trees put at least 83 % of them into two or more likelihood categories (Okun et"
    " al. 2023). Differences between skilled assessors are common."
)


@dataclass(frozen=True)
class Judged:
    """One height that an assessor judged and that was opened; fractions (t/R); low, high: 80 % interval, or None.

    `chance`: stated chance that the threshold was crossed; `crossed`: whether it was.
    """

    assessor: str
    tree: str
    predicted: float
    found: float
    low: float | None = None
    high: float | None = None
    chance: float | None = None
    crossed: bool | None = None


@dataclass(frozen=True)
class Record:
    """An assessor's own record. Errors are found less predicted, each tree counted once; `held80` with Wilson interval.

    Figures are None below 10 trees.
    """

    assessor: str
    trees: int
    heights: int
    mean_error: float | None
    mean_absolute_error: float | None
    held80: float | None
    held80_interval: tuple[float, float] | None
    interval_score: float | None
    brier: Brier | None
    note: str


def records(judged: Sequence[Judged]) -> tuple[Record, ...]:
    """Give each assessor's record, in the order of their names: this is no ranking.

    >>> records([Judged("b", "t", 0.3, 0.4), Judged("a", "t", 0.3, 0.2)])[0].assessor
    'a'
    """
    return tuple(_record(name, [one for one in judged if one.assessor == name])
                 for name in sorted({one.assessor for one in judged}))  # fmt: skip


def _record(name: str, own: Sequence[Judged]) -> Record:
    trees = sorted({one.tree for one in own})
    if len(trees) < LEAST_TREES:
        note = f"{len(trees)} opened trees: below {LEAST_TREES} nothing is said."
        return Record(name, len(trees), len(own), None, None, None, None, None, None, note)
    of_tree = [[one for one in own if one.tree == tree] for tree in trees]
    errors = [np.mean([one.found - one.predicted for one in of]) for of in of_tree]
    sizes = [np.mean([abs(one.found - one.predicted) for one in of]) for of in of_tree]
    held, scored = _held(of_tree)
    stated = [(one.chance, one.crossed) for one in own if one.chance is not None and one.crossed is not None]
    return Record(
        name, len(trees), len(own), float(np.mean(errors)), float(np.mean(sizes)),
        float(np.mean(held)) if held else None, wilson(float(np.sum(held)), len(held)) if held else None, scored,
        brier([chance for chance, _ in stated], [crossed for _, crossed in stated]) if stated else None,
        "For the assessor's own learning; trees differ in how hard they are to judge.",
    )  # fmt: skip


def _held(of_tree: Sequence[Sequence[Judged]]) -> tuple[list[float], float | None]:
    """Share of each tree's intervals that held, and the mean interval score."""
    held, scores = [], []
    for of in of_tree:
        with_ends = [(one.low, one.high, one.found) for one in of if one.low is not None and one.high is not None]
        if with_ends:
            held.append(float(np.mean([low <= found <= high for low, high, found in with_ends])))
            scores.append(float(np.mean([interval_score(low, high, found, 0.8) for low, high, found in with_ends])))
    return held, float(np.mean(scores)) if scores else None


@dataclass(frozen=True)
class Rated:
    """An assessor put a tree into a likelihood category."""

    assessor: str
    tree: str
    category: str


@dataclass(frozen=True)
class Agreement:
    """Over trees rated by two assessors or more. `spread`: share of them put into two categories or more."""

    trees: int
    assessors: int
    pairs: int
    kappa: Kappa | None
    spread: float | None
    notes: tuple[str, ...]


def agreement(ratings: Sequence[Rated], weights: str = "quadratic") -> Agreement:
    """Compare assessors who rated the same trees, each pair of them once; the last rating of each counts.

    The interval is by drawing whole trees again, as the pairs of one tree resemble each other.
    """
    by_tree: dict[str, dict[str, str]] = {}
    for one in ratings:
        by_tree.setdefault(one.tree, {})[one.assessor] = one.category
    shared = {tree: told for tree, told in sorted(by_tree.items()) if len(told) > 1}
    tables = np.array([_table(told) for told in shared.values()])
    found = kappa_by_tree(tables, weights) if shared else None
    spread = sum(len(set(told.values())) > 1 for told in shared.values()) / len(shared) if shared else None
    assessors = len({name for told in shared.values() for name in told})
    pairs = sum(len(told) * (len(told) - 1) // 2 for told in shared.values())
    return Agreement(len(shared), assessors, pairs, found, spread, (FRAME,))


def _table(told: dict[str, str]) -> Floats:
    """The pairs of one tree, (k, k). Who comes first means nothing, so each pair counts half both ways."""
    table = np.zeros((len(FAILURE), len(FAILURE)))
    for first, second in combinations(sorted(told), 2):
        one, other = FAILURE.index(told[first]), FAILURE.index(told[second])
        table[one, other] += 0.5
        table[other, one] += 0.5
    return table
