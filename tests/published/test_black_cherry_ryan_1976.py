"""31 felled black cherry trees: Ryan, Joiner and Ryan 1976, student handbook, as `trees` in public data packages.

Diameter in inches at 4 ft 6 in, height in feet, volume in cubic feet. They check form factors, not log formulas.
"""

import math
from statistics import fmean, stdev

import pytest

from assessments.methods.stem_load.taper import DEFAULT_EXPONENT, FORMS, Stem, form_factor

TREES = [
    (8.3, 70, 10.3), (8.6, 65, 10.3), (8.8, 63, 10.2), (10.5, 72, 16.4), (10.7, 81, 18.8), (10.8, 83, 19.7),
    (11.0, 66, 15.6), (11.0, 75, 18.2), (11.1, 80, 22.6), (11.2, 75, 19.9), (11.3, 79, 24.2), (11.4, 76, 21.0),
    (11.4, 76, 21.4), (11.7, 69, 21.3), (12.0, 75, 19.1), (12.9, 74, 22.2), (12.9, 85, 33.8), (13.3, 86, 27.4),
    (13.7, 71, 25.7), (13.8, 64, 24.9), (14.0, 78, 34.5), (14.2, 80, 31.7), (14.5, 74, 36.3), (16.0, 72, 38.3),
    (16.3, 77, 42.6), (17.3, 81, 55.4), (17.5, 82, 55.7), (17.9, 80, 58.3), (18.0, 80, 51.5), (18.0, 80, 51.0),
    (20.6, 87, 77.0),
]  # fmt: skip
FACTORS = [volume / (math.pi / 4 * (inches / 12) ** 2 * feet) for inches, feet, volume in TREES]


def exponent_of(factor: float, feet: float) -> float:
    """The exponent of Ormerod's form whose form factor is the tree's, by halving."""
    low, high = 0.3, 3.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if form_factor(middle, feet, 4.5) > factor else (low, middle)
    return low


def test_the_form_factors_lie_between_cone_and_paraboloid() -> None:
    assert fmean(FACTORS) == pytest.approx(0.385, abs=5e-4)
    assert stdev(FACTORS) == pytest.approx(0.030, abs=5e-4)
    assert 1 / 3 < fmean(FACTORS) < 1 / 2


def test_the_default_taper_is_within_the_error_of_the_measured_trees() -> None:
    exponents = [exponent_of(factor, feet) for factor, (_, feet, _) in zip(FACTORS, TREES, strict=True)]
    error = stdev(exponents) / math.sqrt(len(exponents))
    assert fmean(exponents) == pytest.approx(DEFAULT_EXPONENT, abs=2 * error)
    assert FORMS["paraboloid"] < fmean(exponents) < FORMS["neiloid"]


def test_the_volume_of_our_stems_meets_that_of_the_trees() -> None:
    """Each within a quarter, all together within a twentieth."""
    ratios = []
    for inches, feet, volume in TREES:
        stem = Stem(feet * 0.3048, ((1.3716, inches * 2.54),))
        ratios.append(float(stem.volume_m3(0.0)) / (volume * 0.3048**3))
    assert all(0.75 < ratio < 1.25 for ratio in ratios)
    assert fmean(ratios) == pytest.approx(1, abs=0.05)
