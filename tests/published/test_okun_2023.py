"""Okun et al. 2023: 18 assessors put at least 83 % of 30 large trees into two or more likelihood categories.

The frame that is shown beside a city's own agreement. The study's single ratings were not at hand: the panel here is
invented to have its size and its spread.
"""

import numpy as np
import pytest

from assessments.methods.agreement import Rated, agreement
from assessments.methods.agreement.record import PUBLISHED_SPREAD
from assessments.methods.risk import FAILURE


def panel(differing: int) -> list[Rated]:
    """18 assessors of 30 trees; on `differing` of them some say one category more."""
    rng = np.random.default_rng(2023)
    found = []
    for tree in range(30):
        level = int(rng.integers(0, 3))
        for assessor in range(18):
            more = tree < differing and assessor % 3 == 0
            found.append(Rated(str(assessor), str(tree), FAILURE[level + more]))
    return found


def test_a_panel_of_the_published_size_and_spread_is_told_as_such() -> None:
    found = agreement(panel(25))
    assert (found.trees, found.assessors, found.pairs) == (30, 18, 30 * 153)
    assert found.spread == pytest.approx(25 / 30)
    assert (found.spread or 0) >= PUBLISHED_SPREAD
    assert any("at least 83 %" in note for note in found.notes)


def test_such_a_spread_may_still_agree_well_beyond_chance() -> None:
    found = agreement(panel(25)).kappa
    assert found is not None
    assert found.word in ("substantial", "almost perfect")
    assert (found.low95 or 0) > 0.4
