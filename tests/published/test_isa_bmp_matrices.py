"""ISA Best Management Practices, Tree Risk Assessment, 2nd ed. 2017: both matrices, cell by cell.

The matrices were seen in a copy of the published form; cells marked recalled are from memory.
"""

from collections import Counter
from itertools import product

import pytest

from assessments.methods import risk

# Likelihood of failure x likelihood of impact -> likelihood of failure and impact.
LIKELIHOOD = [
    ("imminent", "very_low", "unlikely"),
    ("imminent", "low", "somewhat_likely"),
    ("imminent", "medium", "likely"),
    ("imminent", "high", "very_likely"),
    ("probable", "very_low", "unlikely"),
    ("probable", "low", "unlikely"),
    ("probable", "medium", "somewhat_likely"),
    ("probable", "high", "likely"),
    ("possible", "very_low", "unlikely"),
    ("possible", "low", "unlikely"),
    ("possible", "medium", "unlikely"),
    ("possible", "high", "somewhat_likely"),
    ("improbable", "very_low", "unlikely"),
    ("improbable", "low", "unlikely"),
    ("improbable", "medium", "unlikely"),
    ("improbable", "high", "unlikely"),
]
# Likelihood of failure and impact x consequences -> risk rating.
RATING = {
    ("very_likely", "negligible"): "low",
    ("very_likely", "minor"): "moderate",
    ("very_likely", "significant"): "high",
    ("very_likely", "severe"): "extreme",
    ("likely", "negligible"): "low",
    ("likely", "minor"): "moderate",
    ("likely", "significant"): "high",
    ("likely", "severe"): "high",
    ("somewhat_likely", "negligible"): "low",
    ("somewhat_likely", "minor"): "low",
    ("somewhat_likely", "significant"): "moderate",
    ("somewhat_likely", "severe"): "moderate",
    ("unlikely", "negligible"): "low",
    ("unlikely", "minor"): "low",
    ("unlikely", "significant"): "low",
    ("unlikely", "severe"): "low",
}
ALL = [(f, i, likelihood, c) for f, i, likelihood in LIKELIHOOD for c in risk.CONSEQUENCES]


@pytest.mark.parametrize(("failure", "impact", "expected"), LIKELIHOOD)
def test_each_cell_of_the_likelihood_matrix_is_the_published_one(failure: str, impact: str, expected: str) -> None:
    assert risk.failure_and_impact(failure, impact) == expected


@pytest.mark.parametrize(("likelihood", "consequences"), RATING)
def test_each_cell_of_the_risk_matrix_is_the_published_one(likelihood: str, consequences: str) -> None:
    cell = risk.code(risk.LIKELIHOOD, likelihood), risk.code(risk.CONSEQUENCES, consequences)
    assert risk.word(risk.RISK, int(risk.RISK_MATRIX[cell])) == RATING[likelihood, consequences]


@pytest.mark.parametrize(("failure", "impact", "likelihood", "consequences"), ALL)
def test_each_of_the_64_combinations_follows_from_the_two_published_matrices(
    failure: str, impact: str, likelihood: str, consequences: str
) -> None:
    assert risk.rate(failure, impact, consequences) == RATING[likelihood, consequences]


def test_the_64_combinations_give_49_low_9_moderate_5_high_and_1_extreme() -> None:
    words = product(risk.FAILURE, risk.IMPACT, risk.CONSEQUENCES)
    counts = Counter(risk.rate(*combination) for combination in words)
    assert counts == {"low": 49, "moderate": 9, "high": 5, "extreme": 1}


def test_the_likelihood_matrix_has_10_3_2_and_1_cells_of_each_word() -> None:
    counts = Counter(risk.failure_and_impact(f, i) for f, i in product(risk.FAILURE, risk.IMPACT))
    assert counts == {"unlikely": 10, "somewhat_likely": 3, "likely": 2, "very_likely": 1}


def test_the_risk_matrix_has_8_4_3_and_1_cells_of_each_word() -> None:
    counts = Counter(risk.word(risk.RISK, int(cell)) for cell in risk.RISK_MATRIX[1:, 1:].ravel())
    assert counts == {"low": 8, "moderate": 4, "high": 3, "extreme": 1}


def test_only_imminent_failure_with_high_impact_and_severe_consequences_is_extreme() -> None:
    words = product(risk.FAILURE, risk.IMPACT, risk.CONSEQUENCES)
    extreme = [combination for combination in words if risk.rate(*combination) == "extreme"]
    assert extreme == [("imminent", "high", "severe")]


def test_negligible_consequences_and_improbable_failure_are_always_low() -> None:
    ratings = {risk.rate(f, i, "negligible") for f, i in product(risk.FAILURE, risk.IMPACT)}
    ratings |= {risk.rate("improbable", i, c) for i, c in product(risk.IMPACT, risk.CONSEQUENCES)}
    assert ratings == {"low"}


def test_the_worked_case_is_high_then_moderate_after_pruning_and_low_after_moving_the_target() -> None:
    impact = risk.impact_from("constant", "full").word
    assert impact == "high"
    assert risk.failure_and_impact("probable", impact) == "likely"
    assert risk.rate("probable", impact, "severe") == "high"
    assert risk.failure_and_impact("possible", impact) == "somewhat_likely"
    assert risk.rate("possible", impact, "severe") == "moderate"
    assert risk.rate("probable", "very_low", "severe") == "low"


@pytest.mark.parametrize(
    ("occupancy", "exposure", "impact", "published"),
    [
        ("rare", "protected", "very_low", False),
        ("rare", "partial", "very_low", False),
        ("rare", "full", "very_low", True),
        ("occasional", "protected", "very_low", False),
        ("occasional", "partial", "very_low", True),
        ("occasional", "full", "low", True),
        ("frequent", "protected", "low", False),
        ("frequent", "partial", "low", True),
        ("frequent", "full", "medium", True),
        ("constant", "protected", "low", True),
        ("constant", "partial", "medium", True),
        ("constant", "full", "high", True),
    ],
)
def test_the_impact_guidance_follows_the_prose_and_marks_what_is_interpolated(
    occupancy: str, exposure: str, impact: str, published: bool
) -> None:
    suggested = risk.impact_from(occupancy, exposure)
    assert (suggested.word, suggested.published) == (impact, published)


def test_a_constant_exposed_target_on_the_side_away_from_the_lean_can_be_medium() -> None:
    # From memory of the text.
    suggested = risk.impact_from("constant", "full", "away")
    assert suggested.word == "medium"
    assert "away from the lean" in suggested.reason
