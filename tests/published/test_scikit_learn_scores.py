"""Kappa, Brier score and log loss against scikit-learn, and quantiles against scipy (general libraries, tests only)."""

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]
from sklearn.metrics import brier_score_loss, cohen_kappa_score, log_loss

from assessments.methods.agreement import brier, kappa, wilson
from assessments.methods.calibration.normal import cdf, mixture_quantiles
from assessments.methods.calibration.presence import beta_quantiles
from assessments.methods.outcomes.rates import poisson_interval

CATEGORIES = ["improbable", "possible", "probable", "imminent"]


@pytest.mark.parametrize("weights", ["none", "linear", "quadratic"])
@pytest.mark.parametrize("seed", range(20))
def test_kappa_is_that_of_the_library(weights: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    first = rng.integers(0, 4, 60)
    second = np.clip(first + rng.integers(-2, 3, 60), 0, 3)
    told = kappa([CATEGORIES[n] for n in first], [CATEGORIES[n] for n in second], CATEGORIES, weights)
    theirs = cohen_kappa_score(first, second, labels=[0, 1, 2, 3], weights=None if weights == "none" else weights)
    assert told.value == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_brier_score_and_log_loss_are_those_of_the_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    chances = rng.choice(np.linspace(0.05, 0.95, 10), 80)
    happened = rng.random(80) < chances
    told = brier(chances, happened)
    assert told.score == pytest.approx(brier_score_loss(happened, chances), abs=1e-12)
    assert told.log_loss == pytest.approx(log_loss(happened, chances), abs=1e-9)
    # Murphy 1973: the parts add up exactly.
    assert told.score == pytest.approx(told.reliability - told.resolution + told.uncertainty, abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [(1, 1), (0.5, 4.5), (7, 3), (0.6, 0.6), (300, 2)])
def test_beta_quantiles_are_those_of_the_library(a: float, b: float) -> None:
    levels = (0.025, 0.5, 0.975)
    assert beta_quantiles(a, b, levels) == pytest.approx(stats.beta(a, b).ppf(levels), abs=1e-4)


@pytest.mark.parametrize("count", [0, 1, 5, 50, 500])
def test_the_poisson_interval_is_the_exact_one_of_the_library(count: int) -> None:
    low, high = poisson_interval(count)
    assert low == pytest.approx(stats.chi2(2 * count).ppf(0.025) / 2 if count else 0.0, rel=1e-4)
    assert high == pytest.approx(stats.chi2(2 * count + 2).ppf(0.975) / 2, rel=1e-4)


def test_the_wilson_interval_is_that_of_the_library() -> None:
    theirs = stats.binomtest(14, 1518).proportion_ci(method="wilson")
    assert wilson(14, 1518) == pytest.approx((theirs.low, theirs.high), abs=1e-6)


def test_the_normal_distribution_is_that_of_the_library() -> None:
    z = np.linspace(-6, 6, 241)
    assert cdf(z) == pytest.approx(stats.norm.cdf(z), abs=1e-7)


def test_quantiles_of_a_mixture_turn_its_distribution_function_round() -> None:
    rng = np.random.default_rng(1)
    mean, sd = rng.normal(0, 1, 64), rng.uniform(0.2, 1.5, 64)
    levels = np.array([0.025, 0.1, 0.5, 0.9, 0.975])
    found = mixture_quantiles(mean, sd, levels)
    assert stats.norm.cdf((found[:, None] - mean) / sd).mean(1) == pytest.approx(levels, abs=1e-6)
