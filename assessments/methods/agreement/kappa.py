"""Agreement between assessors beyond chance: Cohen's and weighted kappa for two, Fleiss' kappa for many."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.section.integrals import Floats

METHOD: Final = "kappa"
VERSION: Final = 1

WEIGHTS: Final = ("none", "linear", "quadratic")
RESAMPLES: Final = 1000
SEED: Final = 1968
# Landis & Koch 1977: words by convention only.
WORDS: Final = ((0.0, "none"), (0.2, "slight"), (0.4, "fair"), (0.6, "moderate"), (0.8, "substantial"))


@dataclass(frozen=True)
class Kappa:
    """Kappa with the 95 % interval of a bootstrap over what was rated; None where chance alone agrees wholly."""

    value: float | None
    low95: float | None
    high95: float | None
    rated: int
    agreed: float  # share rated alike
    word: str


def kappa_of(table: npt.ArrayLike, weights: str = "none") -> float | None:
    """Give kappa of a table (k, k) of counts, first assessor by second; None where it is not defined.

    Weights of agreement: linear 1 - |i - j| / (k - 1), quadratic its square's.

    >>> round(kappa_of([[20, 5], [10, 15]]) or 0, 2)
    0.4
    """
    counts = np.asarray(table, np.float64)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or (counts < 0).any() or counts.sum() <= 0:
        raise ValueError("table: must be square, of counts, and not empty")
    share = counts / counts.sum()
    apart = _apart(len(counts), weights)
    expected = float((apart * np.outer(share.sum(1), share.sum(0))).sum())
    return None if expected <= 0 else 1 - float((apart * share).sum()) / expected


def _apart(count: int, weights: str) -> Floats:
    """Disagreement of each pair of categories, 0 to 1."""
    if weights not in WEIGHTS:
        raise ValueError(f"weights: must be one of {', '.join(WEIGHTS)}")
    steps = np.abs(np.subtract.outer(np.arange(count), np.arange(count))) / max(count - 1, 1)
    if weights == "none":
        return np.asarray(steps > 0, np.float64)
    return np.asarray(steps if weights == "linear" else steps**2, np.float64)


def kappa(
    first: Sequence[Hashable], second: Sequence[Hashable], categories: Sequence[Hashable], weights: str = "quadratic"
) -> Kappa:
    """Compare two assessors' categories of the same trees, in the order of `categories`.

    >>> kappa("aab", "abb", "ab", "none").agreed
    0.6666666666666666
    """
    if len(first) != len(second) or not first:
        raise ValueError("first, second: must be of one length and not empty")
    number = {name: place for place, name in enumerate(categories)}
    tables = np.zeros((len(first), len(categories), len(categories)))
    for place, (one, other) in enumerate(zip(first, second, strict=True)):
        tables[place, number[one], number[other]] = 1
    return by_tree(tables, weights)


def by_tree(tables: Floats, weights: str) -> Kappa:
    """Give kappa of the summed tables (t, k, k) of trees, its interval by drawing whole trees again."""
    whole = tables.sum(0)
    value = kappa_of(whole, weights)
    low, high = _bootstrap(tables, weights)
    return Kappa(value, low, high, len(tables), float(np.trace(whole) / whole.sum()), word(value))


def _bootstrap(tables: Floats, weights: str) -> tuple[float | None, float | None]:
    count, size = tables.shape[:2]
    picks = np.random.default_rng(SEED).multinomial(count, np.full(count, 1 / count), RESAMPLES)
    drawn = (picks @ tables.reshape(count, -1)).reshape(RESAMPLES, size, size)
    drawn /= drawn.sum((1, 2), keepdims=True)
    apart = _apart(size, weights)
    expected = (apart * drawn.sum(2)[:, :, None] * drawn.sum(1)[:, None, :]).sum((1, 2))
    defined = expected > 0
    if not defined.any():
        return None, None
    found = 1 - (apart * drawn).sum((1, 2))[defined] / expected[defined]
    low, high = np.quantile(found, (0.025, 0.975)).tolist()
    return low, high


def fleiss(counts: npt.ArrayLike) -> float | None:
    """Give Fleiss' kappa of counts (trees, categories), as many assessors on each tree; None where not defined.

    >>> fleiss([[2, 0], [0, 2]])
    1.0
    """
    table = np.asarray(counts, np.float64)
    raters = table.sum(1)
    if table.ndim != 2 or not len(table) or (raters != raters[0]).any() or raters[0] < 2:
        raise ValueError("counts: each tree needs the same number of assessors, two or more")
    agreed = ((table**2).sum(1) - raters[0]) / (raters[0] * (raters[0] - 1))
    chance = float(((table.sum(0) / table.sum()) ** 2).sum())
    return None if chance >= 1 else (float(agreed.mean()) - chance) / (1 - chance)


def word(value: float | None) -> str:
    """Give the conventional word for a kappa.

    >>> word(0.61), word(-0.1), word(None)
    ('substantial', 'none', 'not defined')
    """
    if value is None:
        return "not defined"
    return next((said for most, said in WORDS if value <= most), "almost perfect")
