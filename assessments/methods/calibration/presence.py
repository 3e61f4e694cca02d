"""Presence and absence of hidden defects: how often signs are right, apart from how thick the wall is.

A tree counts once however many cuts it has. Sensitivity and specificity cannot be told from trees opened because they
were judged bad: they rest on trees felled for reasons unrelated to their inside. Beta priors, weak and documented.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from .rows import NEVER_POOLED, UNRELATED, Row

METHOD: Final = "presence_by_beta"
VERSION: Final = 1

# Uniform before any tree; of one sign, the whole counts as much as four trees of its own. Project's choice.
PRIOR: Final = (1.0, 1.0)
OF_WHOLE: Final = 4.0
_GRID: Final = np.linspace(-30.0, 30.0, 24_001)


@dataclass(frozen=True)
class Share:
    """A share with its 95 % interval; `right` of `trees` (fractions where cuts of one tree differ) were seen."""

    value: float
    low95: float
    high95: float
    right: float
    trees: int


@dataclass(frozen=True)
class Presence:
    """How a predicted defect inside fares against the found one; shares 0 to 1.

    sensitivity: of those that are hollow, share predicted; specificity: of the sound, share predicted sound (both from
    unrelated reasons). predictive_value: of those predicted hollow, share found so; negative_predictive_value: of those
    predicted sound, share found so (all reasons but storm failure). by_sign: predictive value, drawn to the whole.
    """

    sensitivity: Share
    specificity: Share
    predictive_value: Share
    negative_predictive_value: Share
    by_sign: tuple[tuple[str, Share], ...]


def presence(rows: Sequence[Row]) -> Presence:
    """Count presence and absence of hidden defects.

    >>> found = presence([Row("a", 0.3, 0.4, "random_sample"), Row("b", 1.0, 0.5, "random_sample")])
    >>> found.sensitivity.right, found.sensitivity.trees
    (1.0, 2)
    """
    pooled = [row for row in rows if row.reason not in NEVER_POOLED]
    unrelated = [row for row in pooled if row.reason in UNRELATED]
    value = _share([row for row in pooled if row.predicted_hollow], lambda row: row.found_hollow)
    prior = (0.5 + OF_WHOLE * value.value, 0.5 + OF_WHOLE * (1 - value.value))
    signs = sorted({row.sign for row in pooled})
    return Presence(
        _share([row for row in unrelated if row.found_hollow], lambda row: row.predicted_hollow),
        _share([row for row in unrelated if not row.found_hollow], lambda row: not row.predicted_hollow),
        value,
        _share([row for row in pooled if not row.predicted_hollow], lambda row: not row.found_hollow),
        tuple((sign, _share([r for r in pooled if r.predicted_hollow and r.sign == sign], _hollow, prior))
              for sign in signs),
    )  # fmt: skip


def _hollow(row: Row) -> bool:
    return row.found_hollow


def _share(rows: Sequence[Row], right: Callable[[Row], bool], prior: tuple[float, float] = PRIOR) -> Share:
    of_tree: dict[str, list[bool]] = {}
    for row in rows:
        of_tree.setdefault(row.tree, []).append(right(row))
    yes = float(sum(sum(told) / len(told) for told in of_tree.values()))
    a, b = prior[0] + yes, prior[1] + len(of_tree) - yes
    low, high = beta_quantiles(a, b, (0.025, 0.975))
    return Share(a / (a + b), low, high, yes, len(of_tree))


def beta_quantiles(a: float, b: float, levels: Sequence[float]) -> list[float]:
    """Give quantiles of Beta(a, b), integrated on a logit grid: right to 1e-4 for a, b of 0.2 or more.

    >>> [round(q, 4) for q in beta_quantiles(1.0, 1.0, (0.025, 0.975))]
    [0.025, 0.975]
    """
    log = -a * np.logaddexp(0, -_GRID) - b * np.logaddexp(0, _GRID)
    mass = np.exp(log - log.max())
    rising = np.cumsum(mass) - mass / 2
    at = np.interp(np.asarray(levels) * mass.sum(), rising, _GRID)
    return [float(q) for q in 1 / (1 + np.exp(-at))]
