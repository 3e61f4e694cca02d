"""Sums of squares within and between trees: all that the hierarchical Gaussian model asks of its rows."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods.section.integrals import Floats

METHOD: Final = "within_and_between_sums"
VERSION: Final = 1

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Sums:
    """Sums over weighted rows z = (design, value), q = p + 1 columns; any leading axes are separate data sets.

    A row's weight is 1 / spread^2. Trees of equal total weight are summed together: `count` of them, `weight` each.
    """

    within: Floats  # (..., q, q): sum of w (z - mean of its tree)(z - mean of its tree)'
    between: Floats  # (..., g, q, q): sum of W mean mean' over trees of one total weight W
    weight: Floats  # (..., g)
    count: Floats  # (..., g): trees; 0 pads
    rows: Floats  # (...)


def sums(design: Floats, value: Floats, spread: Floats, tree: Whole) -> Sums:
    """Sum rows (n, p), (n,), (n,) by tree (n,), numbered from 0.

    >>> found = sums(np.ones((2, 1)), np.array([1.0, 3.0]), np.ones(2), np.zeros(2, int))
    >>> float(found.within[1, 1]), float(found.between[0, 1, 1]), found.weight.tolist()
    (2.0, 8.0, [2.0])
    """
    z, w = np.column_stack([design, value]), 1 / spread**2
    trees = int(tree.max()) + 1 if len(tree) else 0
    total = np.bincount(tree, w, trees)
    mean = np.zeros((trees, z.shape[1]))
    np.add.at(mean, tree, w[:, None] * z)
    mean /= total[:, None]
    off = z - mean[tree]
    weight, of = np.unique(total.round(9), return_inverse=True)
    between = np.zeros((len(weight), z.shape[1], z.shape[1]))
    np.add.at(between, of, total[:, None, None] * mean[:, :, None] * mean[:, None, :])
    count = np.bincount(of, minlength=len(weight)).astype(np.float64)
    return Sums(off.T @ (w[:, None] * off), between, np.asarray(weight, np.float64), count, np.array(float(len(value))))


def together(parts: Sequence[Sums]) -> Sums:
    """Stack data sets of the same columns along a new first axis."""
    most = max(len(one.weight) for one in parts)

    def padded(values: Floats, fill: float = 0.0) -> Floats:
        return np.pad(values, [(0, most - len(values)), *[(0, 0)] * (values.ndim - 1)], constant_values=fill)

    return Sums(
        np.stack([one.within for one in parts]),
        np.stack([padded(one.between) for one in parts]),
        np.stack([padded(one.weight, 1.0) for one in parts]),
        np.stack([padded(one.count) for one in parts]),
        np.stack([one.rows for one in parts]),
    )
