"""The map from words to numbers against published frequencies of failures, deaths and costs.

Held to a factor of 3. Deaths: Schmidlin 2009 (407 US deaths by trees in wind, 1995-2007, about 1.1 per 10
million people a year) and a UK count of 64 in 10 years (about 1 per 10 million). Costs: California failure
reports (mean 3,417 dollars). A failure rate of 0.1-0.5 % a year is common practice, no source.
The city below is an assumption, stated here; nothing in it comes from our own output.
"""

import math
from itertools import product

import numpy as np
import numpy.typing as npt
import pytest

from assessments.methods import harm, risk

# Shares of the words over one part and target a tree, taken as independent of each other, rated for 3 years.
FAILURE = {"improbable": 0.70, "possible": 0.27, "probable": 0.0295, "imminent": 0.0005}
IMPACT_ON_PEOPLE = {"very_low": 0.60, "low": 0.28, "medium": 0.10, "high": 0.02}
CONSEQUENCES = {"negligible": 0.35, "minor": 0.40, "significant": 0.20, "severe": 0.05}
FRAME_YEARS = 3
# Public trees a resident: open inventories give about 0.08 (New York) to 0.15 (San Francisco).
TREES_PER_PERSON = 0.12
# Damage to property is mostly slight.
PROPERTY = {"negligible": 0.45, "minor": 0.40, "significant": 0.14, "severe": 0.01}


def within_factor(value: float, published: float, factor: float = 3.0) -> bool:
    return published / factor <= value <= published * factor


def city() -> tuple[list[npt.NDArray[np.uint8]], npt.NDArray[np.float64]]:
    """All combinations of the words as code arrays, and the share of each."""
    rows = list(product(FAILURE, IMPACT_ON_PEOPLE, CONSEQUENCES))
    shares = np.array([FAILURE[f] * IMPACT_ON_PEOPLE[i] * CONSEQUENCES[c] for f, i, c in rows])
    scales = (risk.FAILURE, risk.IMPACT, risk.CONSEQUENCES)
    columns = zip(*rows, strict=True)
    codes = [
        np.array([risk.code(scale, word) for word in column], np.uint8)
        for scale, column in zip(scales, columns, strict=True)
    ]
    return codes, shares


def test_the_assumed_shares_add_up() -> None:
    for shares in (FAILURE, IMPACT_ON_PEOPLE, CONSEQUENCES, PROPERTY):
        assert sum(shares.values()) == pytest.approx(1)


def test_the_central_map_gives_the_general_failure_rate_within_a_factor_of_3() -> None:
    (failure, _, _), shares = city()
    rate = float(harm.failure_chance_codes(failure, np.full(failure.shape, FRAME_YEARS)) @ shares)
    assert within_factor(rate, math.sqrt(0.001 * 0.005))
    assert 0.001 <= rate <= 0.005


@pytest.mark.parametrize("share_by_public_trees", [1.0, 0.5])
@pytest.mark.parametrize("published", [1.0e-7, 1.1e-7])
def test_the_central_map_gives_the_published_deaths_within_a_factor_of_3(
    published: float, share_by_public_trees: float
) -> None:
    # Published deaths are by all trees; how many fall to public ones is not known, so all and half are tried.
    (failure, impact, consequences), shares = city()
    frame = np.full(failure.shape, FRAME_YEARS)
    per_tree = float(harm.harm_codes(failure, impact, consequences, frame, np.ones_like(failure)) @ shares)
    assert within_factor(per_tree * TREES_PER_PERSON, published * share_by_public_trees)


@pytest.mark.parametrize("published", [1.0e-7])
def test_the_low_and_the_high_map_lie_on_both_sides_of_the_published_deaths(published: float) -> None:
    (failure, impact, consequences), shares = city()
    frame = np.full(failure.shape, FRAME_YEARS)
    low, high = (
        float(harm.harm_codes(failure, impact, consequences, frame, np.ones_like(failure), which) @ shares)
        for which in ("low", "high")
    )
    assert low * TREES_PER_PERSON < published
    assert high * TREES_PER_PERSON > published


def test_the_central_map_gives_the_published_mean_cost_of_a_failure_within_a_factor_of_3() -> None:
    costs = harm.RANGES["cost"][harm.MAPS.index("central")]
    mean = sum(share * costs[risk.code(risk.CONSEQUENCES, word)] for word, share in PROPERTY.items())
    assert within_factor(mean, 3417)


def test_one_per_cent_a_year_is_2_970_per_cent_in_three_years_and_back() -> None:
    assert pytest.approx(0.02970, abs=5e-6) == 1 - (1 - 0.01) ** 3
    assert harm.chance_a_year(0.029701, 3) == pytest.approx(0.01, rel=1e-6)
